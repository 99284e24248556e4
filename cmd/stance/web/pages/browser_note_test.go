package pages_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// A worker is somebody at a tab who counts what the hand does beside typing.
type worker struct {
	*tab
	clicks int
}

// press is one click or touch.
func (w *worker) press(selector string) {
	w.Helper()
	w.clicks++
	w.click(selector)
}

// pick is two: one opens the list, one chooses.
func (w *worker) pick(selector, value string) {
	w.Helper()
	w.clicks += 2
	w.choose(selector, value)
}

// write puts the cursor into the note, which is a click unless it is there, and types.
func (w *worker) write(text string) {
	w.Helper()
	if ask[string](w.tab, `document.activeElement.id`) != "text" {
		w.clicks++
	}
	w.typeText("#text", text)
	w.settled()
}

// clipboard is where the page copies to.
const clipboard = `Object.defineProperty(navigator, "clipboard", {value: {writeText: async (words) => { window.copied = words; }}})`

// walkClosesNotes counts what it takes a care worker to close a note, beside the typing: four clicks for a clean one,
// five for one with a finding that is put right, and one to go on to the next resident.
func walkClosesNotes(t *testing.T, browser context.Context) {
	const clean = "Transferred bed to wheelchair, pivot x1 with transfer belt."
	for _, width := range []int64{360, 768, 1280} {
		w := &worker{tab: newTab(t, browser, newHome(t), nil, nil)}
		w.wear("light", width)
		w.goTo("/note")
		w.do("have a clipboard", js(clipboard))
		limit := func(what string, most int) {
			t.Helper()
			if w.clicks > most {
				t.Errorf("at %d px %s took %d clicks, want %d at most", width, what, w.clicks, most)
			}
			w.clicks = 0
		}
		w.pick("#resident", "R-101")
		w.has("#status", "toe touch only")
		w.write(clean)
		w.has("#summary", "Nothing to flag in these words.")
		w.press("#copy")
		w.has("#told", "Copied for R-101.")
		limit("a clean note", 4)

		w.press("#next")
		w.settled()
		w.typeText("#other", "102\r")
		w.until("the cursor in the note", `document.activeElement.id === "text" && document.getElementById("resident").value === "R-102"`)
		limit("the next resident", 1)

		// The same with a finding.
		w.goTo("/note")
		w.do("have a clipboard", js(clipboard))
		w.pick("#resident", "R-101")
		w.write("Lifted to chair x1, pivot with belt, resident took steps.")
		w.until("proposed words", `!!document.querySelector("button[name=use]")`)
		w.settled()
		w.press("button[name=use]")
		w.has(".finding.done", "Changed “Lifted”")
		w.settled()
		w.has("#summary", "Nothing to flag in these words.")
		w.press("#copy")
		w.has("#told", "Copied for R-101.")
		limit("a flagged note", 5)
		if got := ask[string](w.tab, `window.copied`); got != "Transferred to chair x1, pivot with belt, resident took steps." {
			t.Errorf("copied %q", got)
		}
	}
}

// walkNoteStates holds that the place is accessible in each state, and that nothing is wider than the window.
func walkNoteStates(t *testing.T, browser context.Context) {
	source := axe(t)
	b := newTab(t, browser, namedHome(t), nil, nil)
	const flagged = "Lifted to chair x1, pivot with belt, took steps. Walked to bathroom with cane.\nQuorvel x2 to the commode. Dizzy on standing, sat down again."
	for _, state := range []struct {
		name, path string
		steps      func()
	}{
		{"nobody", "/note", func() {}},
		{"unclear", "/note", func() { b.typeText("#other", "fern\r"); b.has("#status", "residents fit") }},
		{"unknown", "/note", func() { b.typeText("#other", "999\r"); b.has("#status", "No notes and no chart") }},
		{"unheld", "/note", func() { b.typeText("#text", "Walked with cane."); b.has("#summary", "choose the resident") }},
		{"chosen", "/note?resident=R-101", func() { b.has("#before-notes", "On the") }},
		{"last note", "/note?resident=R-101", func() {
			b.do("open", js(`(() => { const d = document.getElementById("before"); d.open = true; document.getElementById("unfold").click(); })()`))
			b.until("the whole chart", `document.querySelector("#status .chart > div:last-child").getClientRects().length > 0`)
		}},
		{"clean", "/note?resident=R-101", func() {
			b.typeText("#text", "Transferred bed to wheelchair, pivot x1 with transfer belt.")
			b.has("#summary", "Nothing to flag")
		}},
		{"so far", "/note?resident=R-101", func() {
			b.typeText("#text", "Transferred bed to wheelchair with transfer belt")
			b.has("#summary", "Nothing to flag so far.")
		}},
		{"flagged", "/note?resident=R-101", func() { b.typeText("#text", flagged); b.has("#result", "Not understood:") }},
		{"changed", "/note?resident=R-101", func() {
			b.typeText("#text", flagged)
			b.until("proposed words", `!!document.querySelector("button[name=use]")`)
			b.settled()
			b.click("button[name=use]")
			b.has(".finding.done", "Changed")
			b.settled()
		}},
		{"copied", "/note?resident=R-101", func() {
			b.do("have a clipboard", js(clipboard))
			b.typeText("#text", flagged)
			b.settled()
			b.click("#copy")
			b.has("#told", "Copied for")
		}},
		{"cleared", "/note?resident=R-101", func() {
			b.typeText("#text", flagged)
			b.settled()
			b.click("#clear")
			b.settled()
		}},
		{"cut off", "/note?resident=R-101", func() {
			b.do("cut the line", js(`window.fetch = () => Promise.reject(new TypeError("no line"))`))
			b.typeText("#text", flagged)
			b.has("#told", "does not answer")
		}},
	} {
		for _, width := range []int64{360, 768, 1280} {
			b.wear("light", width)
			b.goTo("/learn")
			b.do("forget the draft", js(`localStorage.clear()`))
			b.goTo(state.path)
			state.steps()
			b.settled()
			for _, scheme := range []string{"light", "dark"} {
				t.Run(fmt.Sprintf("%s %s %d", state.name, scheme, width), func(t *testing.T) {
					b := &tab{t, b.ctx, b.site}
					b.wear(scheme, width)
					b.accessible(source)
					b.photograph(fmt.Sprintf("note %s-%s-%d", state.name, scheme, width))
				})
			}
		}
	}
}

// On a phone whose keyboard is up, one line at its edge has the number and the worst title, and opens the list.
func walkKeyboardUp(t *testing.T, browser context.Context) {
	b := newTab(t, browser, newHome(t), nil, nil)
	b.do("size", chromedp.EmulateViewport(360, 400))
	b.goTo("/note?resident=R-101")
	b.until("the limits and the way of transfer, and nothing else", `[...document.querySelectorAll("#status .chart > div")].filter((e) => e.getClientRects().length).map((e) => e.querySelector("dt").firstChild.textContent.trim()).join() === "Left leg,Transfer"`)
	b.until("no line yet", `document.getElementById("edge").hidden`)
	b.typeText("#text", "Walked to bathroom with cane. Dizzy on standing, sat down again.")
	b.settled()
	b.has("#edge", "· ■ Error: ")
	b.until("the line in view, on one line, and the field not under it", `(() => {
		const e = document.getElementById("edge").getBoundingClientRect();
		return e.bottom <= innerHeight && e.height < 60 && document.getElementById("text").getBoundingClientRect().top < e.top; })()`)
	if shots := os.Getenv("STANCE_SHOTS"); shots != "" { // no more than what is in view
		shot, err := chromedp.Call(b.ctx, page.CaptureScreenshot, page.CaptureScreenshotParams{})
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(shots, "note keyboard up.png"), shot.Data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	b.click("#edge")
	b.until("the list in view", `(() => { const r = document.querySelector("#result h2").getBoundingClientRect(); return r.top >= 0 && r.top < innerHeight / 2; })()`)
	b.until("the line to be gone with the keyboard", `document.getElementById("edge").hidden && document.activeElement.id !== "text"`)

	b.do("size", chromedp.EmulateViewport(360, 800))
	b.typeText("#text", " ")
	b.settled()
	b.until("no such line while the page is whole", `document.getElementById("edge").hidden`)
	b.do("size", chromedp.EmulateViewport(1280, 400))
	b.typeText("#text", " ")
	b.settled()
	b.until("no such line on a wide screen", `document.getElementById("edge").hidden`)
}

// What was found is underlined in the field itself on wide screens, in the place of the very words, and not before the
// sentence has an end where something is missing.
func walkUnderlines(t *testing.T, browser context.Context) {
	b := newTab(t, browser, newHome(t), nil, nil)
	b.wear("light", 1280)
	b.goTo("/note?resident=R-101")
	b.typeText("#text", "Slept. Walked to bathroom with cane.")
	b.settled()
	const words = `[...document.querySelectorAll("#under mark.error")].map((m) => m.textContent).join()`
	if got := ask[string](b, words); got != "Walked to bathroom with cane" {
		t.Errorf("underlined as an error: %q", got)
	}
	// The line stays with its words at once, and the text behind is broken as the field breaks it.
	b.do("hold the line up", js(`window.line = fetch; window.fetch = () => new Promise(() => {})`))
	b.do("type before it", js(`(() => { const t = document.getElementById("text"); t.setRangeText("At 0900 up and washed. ".repeat(30), 0, 0); t.dispatchEvent(new Event("input")); })()`))
	if got := ask[string](b, words); got != "Walked to bathroom with cane" {
		t.Errorf("underlined after typing before it: %q", got)
	}
	b.until("both as high as one another", `(() => { const u = document.getElementById("under"), t = document.getElementById("text");
		return Math.abs(u.scrollHeight - t.scrollHeight) <= 1 && u.clientWidth === t.clientWidth && t.scrollHeight > 100; })()`)
	b.do("scroll down", js(`document.getElementById("text").scrollTop = 1e6`))
	b.until("the lines to go along", `document.getElementById("under").scrollTop === document.getElementById("text").scrollTop`)
	b.do("let it go", js(`window.fetch = window.line`))

	b.do("start anew", js(`document.getElementById("clear").click()`))
	b.typeText("#text", "Transferred bed to wheelchair with transfer belt")
	b.has("#summary", "Nothing to flag so far.")
	b.settled()
	if n := ask[int](b, `document.querySelectorAll("#result .finding").length`); n != 0 {
		t.Errorf("%d findings on a sentence that is still being typed, want none", n)
	}
	b.typeText("#text", ".")
	b.has("#result .finding", "Hint: ")
	b.do("take the full stop away", chromedp.KeyEvent("\b"))
	b.has("#summary", "Nothing to flag so far.")
	b.do("leave the field", js(`document.getElementById("text").blur()`))
	b.has("#result .finding", "Hint: ")

	b.wear("light", 360)
	b.until("no lines in the field of a phone", `document.getElementById("under").getClientRects().length === 0`)
}

// Where proposed words are put in and taken out, what the hand is on stays under it, however the list changes around it.
func walkStaysInPlace(t *testing.T, browser context.Context) {
	b := newTab(t, browser, newHome(t), nil, nil)
	for _, width := range []int64{360, 768, 1280} {
		b.wear("light", width)
		b.goTo("/note?resident=R-101")
		b.do("start anew", js(`document.getElementById("clear").click()`))
		b.typeText("#text", "Walked to bathroom with cane. Dizzy on standing, sat down again. Lifted to chair x1, pivot with belt, took steps.")
		b.until("proposed words", `!!document.querySelector("button[name=use]")`)
		b.settled()
		b.do("leave the field", js(`document.getElementById("text").blur(); document.querySelector("button[name=use]").scrollIntoView({block: "center", behavior: "instant"})`))
		const top = `Math.round(document.querySelector("button[name=use], .finding.done button").closest(".finding").getBoundingClientRect().top)`
		was := ask[int](b, top)
		press := func(what, selector, then string) {
			t.Helper()
			b.do(what, js(fmt.Sprintf(`document.querySelector(%s).click()`, quoted(selector)))) // not scrolled to, as b.click does
			b.until(then, then)
			b.settled()
			if is := ask[int](b, top); is < was-1 || is > was+1 {
				t.Errorf("at %d px, %s: the card is at %d px, and before at %d", width, what, is, was)
			}
		}
		press("use the words", "button[name=use]", `document.querySelector(".finding.done")?.textContent.includes("Changed") && !document.querySelector("button[name=use]")`)
		press("undo", ".finding.done button", `!!document.querySelector("button[name=use]") && !document.querySelector(".finding.done")`)
		if got := b.value("#text"); got != "Walked to bathroom with cane. Dizzy on standing, sat down again. Lifted to chair x1, pivot with belt, took steps." {
			t.Errorf("undone: %q", got)
		}
	}
}
