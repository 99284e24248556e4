package pages_test

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"example.com/stance/cmd/stance/web/guard"
)

// required in STANCE_BROWSER makes a missing browser, or a missing axe-core, a failure.
const required = "required"

// browserPath is a Chromium on this machine. Without one the test is skipped.
func browserPath(t *testing.T) string {
	t.Helper()
	for _, name := range []string{"chromium", "chromium-browser"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	if os.Getenv("STANCE_BROWSER") == required {
		t.Fatal("no chromium on the path, and STANCE_BROWSER=required")
	}
	t.Skip("no chromium on the path: the pages are not walked in a browser")
	return ""
}

// axe is the source of axe-core, named by STANCE_AXE. Without it the test is skipped.
func axe(t *testing.T) string {
	t.Helper()
	name := os.Getenv("STANCE_AXE")
	if name == "" {
		if os.Getenv("STANCE_BROWSER") == required {
			t.Fatal("STANCE_AXE does not name axe.min.js of axe-core, and STANCE_BROWSER=required")
		}
		t.Skip("STANCE_AXE does not name axe.min.js of axe-core: accessibility is not checked")
	}
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// TestBrowser walks the pages in one browser, each walk in a window of its own that shares nothing with the others.
func TestBrowser(t *testing.T) {
	browser := openBrowser(t)
	for _, w := range []struct {
		name string
		walk func(*testing.T, context.Context)
	}{
		{"access", walkAccess}, // first, as it takes longest
		{"writes a note", walkWritesANote}, {"closes notes", walkClosesNotes}, {"note in every state", walkNoteStates}, {"phone with its keyboard up", walkKeyboardUp}, {"underlines", walkUnderlines}, {"stays in place", walkStaysInPlace},
		{"names one resident", walkNamesOneResident}, {"is cut off", walkIsCutOff},
		{"hands over", walkHandsOver}, {"types in peace", walkTypesInPeace},
		{"forgets a draft", walkForgetsADraft}, {"goes through a shift", walkGoesThroughAShift},
		{"follows a resident", walkFollowsAResident}, {"reads an audit", walkReadsAnAudit},
		{"the course", walkTheCourse}, {"answers an audit", walkAnswersAnAudit}, {"states", walkStates}, {"files", walkFiles},
		{"learns", walkLearns}, {"prints a lesson", walkPrintsALesson}, {"keyboard", walkKeyboard}, {"login", walkLogin},
	} {
		t.Run(w.name, func(t *testing.T) {
			t.Parallel()
			w.walk(t, browser)
		})
	}
}

// openBrowser starts a browser for as long as the test runs.
func openBrowser(t *testing.T) context.Context {
	t.Helper()
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(browserPath(t)), chromedp.UserDataDir(t.TempDir()), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-dev-shm-usage", true), chromedp.WSURLReadTimeout(enough))
	alloc, stop := chromedp.NewExecAllocator(t.Context(), options...)
	t.Cleanup(stop)
	ctx, stop := chromedp.NewContext(alloc)
	t.Cleanup(stop)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	return ctx
}

// enough is how long anything may take, however busy the machine is: it only ends what is stuck.
const enough = 5 * time.Minute

// A tab is a window at a site. Whatever is done in it is looked up and done by one script, so that no page can change
// in between; a step that brings another page waits until that one is there, so that none is done on a page that is
// about to go.
type tab struct {
	*testing.T
	ctx  context.Context
	site string // without a slash at the end
}

// newTab opens a window at a guarded site. It fails the test if a page asks anybody but the site for anything, or
// breaks the content security policy.
func newTab(t *testing.T, browser context.Context, h *home, users *guard.Users, accesses *guard.AccessLog) *tab {
	t.Helper()
	server := httptest.NewUnstartedServer(nil)
	g, err := guard.New(guard.Config{
		Bind: server.Listener.Addr().String(), Users: users, AccessLog: accesses, Wait: enough, RequestTime: enough, Idle: time.Hour,
	})
	if err != nil {
		t.Fatal(err)
	}
	h.config.Session, h.config.Saw = guard.SessionOf, g.Saw
	h.reload(t)
	server.Config.Handler = g.Wrap(h)
	server.Start()
	t.Cleanup(server.Close)

	ctx, stop := chromedp.NewContext(browser, chromedp.WithNewBrowserContext())
	t.Cleanup(stop)
	b := &tab{t, ctx, server.URL}
	if err := chromedp.Listen(ctx, func(event any) {
		switch e := event.(type) {
		case *network.EventRequestWillBeSent:
			if u := e.Request.URL; !strings.HasPrefix(u, b.site+"/") && !strings.HasPrefix(u, "data:") {
				t.Errorf("a request leaves the site: %s", u)
			}
		case *log.EventEntryAdded:
			if e.Entry.Source == log.EntrySourceSecurity {
				t.Errorf("the page breaks its security policy: %s", e.Entry.Text)
			}
		}
	}); err != nil {
		t.Fatal(err)
	}
	call(b, network.Enable, network.EnableParams{})
	call(b, log.Enable, cdp.Empty{})
	// Several windows have the focus at once, each as far as it can tell.
	call(b, emulation.SetFocusEmulationEnabled, emulation.SetFocusEmulationEnabledParams{Enabled: true})
	return b
}

// call sends a command to the browser.
func call[P, R any](b *tab, command cdp.Command[P, R], params P) {
	b.Helper()
	if _, err := chromedp.Call(b.ctx, command, params); err != nil {
		b.Fatal(err)
	}
}

// js runs a script in the page, and takes no note of what it gives.
func js(script string) chromedp.Action[chromedp.Void] {
	return chromedp.Evaluate[chromedp.Void](script)
}

// ask evaluates an expression in the page.
func ask[T any](b *tab, expression string) T {
	b.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		b.Fatalf("%.200s: %v", expression, err)
	}
	return v
}

// do runs the steps of what a user does.
func (b *tab) do(what string, steps ...chromedp.Action[chromedp.Void]) {
	b.Helper()
	if err := chromedp.Do(b.ctx, steps...); err != nil {
		b.Fatalf("%s: %v\npage: %.3000s", what, err, b.text())
	}
}

// goTo opens a page.
func (b *tab) goTo(path string) {
	b.Helper()
	b.arrive("open "+path, func() { b.do("open "+path, chromedp.Navigate(b.site+path)) })
}

// origin tells one page from the next, also where both have one address.
func (b *tab) origin() float64 {
	b.Helper()
	return ask[float64](b, `performance.timeOrigin`)
}

// arrive does what brings another page, and waits until that one is there whole.
func (b *tab) arrive(what string, step func()) {
	b.Helper()
	was := b.origin()
	step()
	b.until(what+": another page", fmt.Sprintf(`performance.timeOrigin !== %v && document.readyState === "complete"`, was))
}

// until waits for a condition in the page, an expression of JavaScript. A page that is just being left
// answers with an error, which is as good as no; one that is still being read has no answer yet, since
// what stands further down is not there to be counted.
func (b *tab) until(what, expression string) {
	b.Helper()
	ctx, stop := context.WithTimeout(b.ctx, enough)
	defer stop()
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	whole := fmt.Sprintf(`document.readyState !== "loading" && (%s)`, expression)
	for {
		ok, err := chromedp.Run(ctx, chromedp.Evaluate[bool](whole))
		if ok && err == nil {
			return
		}
		select {
		case <-tick.C:
		case <-ctx.Done():
			b.Fatalf("waiting for %s (%s): %v\npage: %.3000s", what, expression, err, b.text())
		}
	}
}

// has waits until the text of an element holds the words.
func (b *tab) has(selector, words string) {
	b.Helper()
	b.until(fmt.Sprintf("%q in %s", words, selector),
		fmt.Sprintf(`!!document.querySelector(%s)?.textContent.includes(%s)`, quoted(selector), quoted(words)))
}

// settled waits until what is shown is about the note as it stands, so that nothing moves any more.
func (b *tab) settled() {
	b.Helper()
	b.until("the note to be checked", `document.getElementById("result").ariaBusy === "false"`)
}

// gone waits until no element is there.
func (b *tab) gone(selector string) {
	b.Helper()
	b.until(selector+" to be gone", fmt.Sprintf(`!document.querySelector(%s)`, quoted(selector)))
}

func (b *tab) text() string {
	s, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](`document.body.innerText`))
	if err != nil {
		return err.Error()
	}
	return s
}

func (b *tab) value(selector string) string {
	b.Helper()
	return ask[string](b, fmt.Sprintf(`document.querySelector(%s).value`, quoted(selector)))
}

func quoted(s string) string {
	b, err := json.Marshal(s)
	if err != nil {
		panic(err) // a string always has a JSON form
	}
	return string(b)
}

// act waits until there is such an element in view that nothing covers, and does something with it, called e,
// in the same script. It never does so on another page than the one that it found: where the answer is lost
// because the step led away, the step is done.
func (b *tab) act(what, selector, script string) {
	b.Helper()
	b.until(what, fmt.Sprintf(`performance.timeOrigin !== %v || (() => {
		const e = document.querySelector(%s);
		if (!e) return false;
		e.scrollIntoView({block: "center", behavior: "instant"});
		const r = e.getBoundingClientRect(), top = document.elementFromPoint(r.x + r.width / 2, r.y + r.height / 2);
		if (!top || top !== e && !e.contains(top) && !top.contains(e)) return false;
		%s;
		return true;
	})()`, b.origin(), quoted(selector), script))
}

func (b *tab) choose(selector, value string) {
	b.Helper()
	b.act("choose "+value, selector, fmt.Sprintf(`e.value = %s; e.dispatchEvent(new Event("change", {bubbles: true}))`, quoted(value)))
}

// typeText types at the end of what stands in a field.
func (b *tab) typeText(selector, text string) {
	b.Helper()
	b.act("put the focus in "+selector, selector, `e.focus(); if (e.value) e.setSelectionRange(e.value.length, e.value.length)`)
	b.do("type into "+selector, chromedp.KeyEvent(text))
}

func (b *tab) click(selector string) {
	b.Helper()
	b.act("click "+selector, selector, `e.click()`)
}

// follow clicks on what leads to another page.
func (b *tab) follow(selector string) {
	b.Helper()
	b.arrive("follow "+selector, func() { b.click(selector) })
}

// enter types and sends a form with the return key, which leads to another page.
func (b *tab) enter(selector, text string) {
	b.Helper()
	b.arrive("enter into "+selector, func() { b.typeText(selector, text+"\r") })
}

// accessible holds the page against the rules of axe-core, and that nothing has to be scrolled sideways.
func (b *tab) accessible(source string) {
	b.Helper()
	b.do("load axe", js(source))
	found := ask[[]struct {
		ID, Help string
		Nodes    []string
	}](b, `axe.run(document, {resultTypes: ["violations"], runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]})
		.then((r) => r.violations.map((v) => ({ID: v.id, Help: v.help, Nodes: v.nodes.map((n) => n.html.slice(0, 200) + " " + n.failureSummary)})))`)
	for _, v := range found {
		b.Errorf("%s: %s: %s", v.ID, v.Help, strings.Join(v.Nodes, "\n\t"))
	}
	if wide := ask[int](b, `document.documentElement.scrollWidth - document.documentElement.clientWidth`); wide > 0 {
		b.Errorf("the page is %d px wider than the window", wide)
	}
}

// wear sets how wide the window is, and which colours are asked for.
func (b *tab) wear(scheme string, width int64) {
	b.Helper()
	b.do("size", chromedp.EmulateViewport(width, 900))
	call(b, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{
		{Name: "prefers-color-scheme", Value: scheme}, {Name: "prefers-reduced-motion", Value: "reduce"}}})
}

// photograph leaves a picture of the page in the folder of STANCE_SHOTS, for somebody to look at.
func (b *tab) photograph(name string) {
	b.Helper()
	shots := os.Getenv("STANCE_SHOTS")
	if shots == "" {
		return
	}
	b.do("go up", js(`scrollTo({top: 0, behavior: "instant"})`))
	png, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
	if err != nil {
		b.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(shots, name+".png"), png, 0o600); err != nil {
		b.Fatal(err)
	}
}

func walkWritesANote(t *testing.T, browser context.Context) {
	b := newTab(t, browser, newHome(t), nil, nil)
	b.goTo("/note")
	b.choose("#resident", "R-101")
	b.has("#status", "toe touch only")

	b.typeText("#text", "Walked to bathroom with cane x1. ")
	b.has("#summary", "to look at")
	b.has("#result .said", "walks")
	b.until("the words marked", `[...document.querySelectorAll("#result mark")].some((m) => m.textContent.includes("cane"))`)

	b.do("take the words away", js(`(() => { const t = document.getElementById("text"); t.value = ""; t.dispatchEvent(new Event("input")); })()`))
	b.gone("#result .finding")

	// The resident took part, so this was a transfer and no lift.
	b.typeText("#text", "Lifted to chair x1, pivot with belt, resident took steps.")
	b.until("proposed words", `!!document.querySelector("button[name=use]")`)
	b.settled()
	was := b.value("#text")
	b.click("button[name=use]")
	b.has(".finding.done", "Changed “Lifted” to “")
	b.until("the new words in the note", `/transferred/i.test(document.getElementById("text").value)`)
	b.gone("#result button[name=use]")

	b.do("type elsewhere", js(`(() => { const t = document.getElementById("text");
		t.setRangeText("At 1900: ", 0, 0); t.dispatchEvent(new Event("input")); })()`))
	b.settled()
	b.click(".finding.done button")
	if got := b.value("#text"); got != "At 1900: "+was {
		t.Errorf("after undo the note is %q, want %q", got, "At 1900: "+was)
	}
	b.until("proposed words again", `!!document.querySelector("button[name=use]")`)

	// The draft survives a reload, and goes when it is cleared.
	b.goTo("/note")
	b.has("#told", "draft is back")
	if got := b.value("#text"); !strings.HasSuffix(got, was) || b.value("#resident") != "R-101" {
		t.Errorf("the draft came back as %q", got)
	}
	b.settled()
	b.click("#clear")
	b.settled()
	b.goTo("/note")
	if got := b.value("#text"); got != "" {
		t.Errorf("after clearing, the draft came back as %q", got)
	}
}

// The resident whose chart counts is the one in view, whichever way that one was named, and all in one place.
func walkNamesOneResident(t *testing.T, browser context.Context) {
	b := newTab(t, browser, namedHome(t), nil, nil)
	b.goTo("/note?resident=R-101")
	b.until("name and room beside the number", `document.querySelector("#resident option:checked").textContent === "R-101 · room 1 · Ash Fern"`)
	for typed, want := range map[string]string{"301": "R-301", "r 301": "R-301", "ash": "R-101", "room 2": "R-102"} {
		b.typeText("#other", typed+"\r")
		b.has("#status", want)
		b.until(typed+" to stand in the list", fmt.Sprintf(`document.getElementById("resident").value === %q && document.getElementById("other").value === ""`, want))
		b.until("the focus in the note", `document.activeElement.id === "text"`)
	}
	b.typeText("#other", "fern\r")
	b.has("#status", "24 residents fit what you typed")
	b.until("nobody to be chosen", `document.getElementById("resident").value === "" && document.getElementById("other").value === "fern"`)
	b.click("#status [data-pick=R-101]")
	b.has("#status", "Ash Fern")
	b.until("the focus in the note", `document.activeElement.id === "text"`)
	if got := b.value("#other"); got != "" {
		t.Errorf("what was typed is still %q", got)
	}
	b.typeText("#text", "Walked with cane.")
	b.settled()
	if at := ask[string](b, `location.href + document.cookie`); strings.Contains(at, "Fern") {
		t.Errorf("a name in the address: %s", at)
	}
}

// Findings on other words than those in view go when the server does not answer, and come back with it.
func walkIsCutOff(t *testing.T, browser context.Context) {
	b := newTab(t, browser, newHome(t), nil, nil)
	b.goTo("/note?resident=R-101")
	b.typeText("#text", "Walked to bathroom with cane.")
	b.has("#result .finding", "Error")
	b.settled()
	// What is shown of an older text looks like it, from the first letter typed since.
	b.do("hold the line up", js(`window.line = fetch; window.fetch = () => new Promise(() => {})`))
	b.typeText("#text", " Ate.")
	b.until("what is older to be dimmed", `document.getElementById("summary").textContent === "Checking…" && getComputedStyle(document.getElementById("result")).opacity < 0.6`)
	b.do("let it go", js(`window.fetch = window.line`))
	b.typeText("#text", " ")
	b.settled()
	b.until("what is new to be whole", `getComputedStyle(document.getElementById("result")).opacity === "1"`)
	b.do("cut the line", js(`window.line = fetch; window.fetch = () => Promise.reject(new TypeError("no line"))`))
	b.typeText("#text", " Slept.")
	b.has("#told", "does not answer")
	b.has("#summary", "Not checked")
	b.until("a look of its own", `(() => { const back = (e) => getComputedStyle(e).backgroundColor, cut = document.getElementById("tell");
		return [...document.querySelectorAll("main *")].every((e) => e === cut || back(e) !== back(cut)); })()`)
	b.gone("#result .finding")
	b.do("mend the line", js(`window.fetch = window.line`))
	b.click("#check")
	b.has("#told", "checked again")
	b.has("#result .finding", "Error")
	b.until("the focus in the note", `document.activeElement.id === "text" && document.getElementById("check").hidden`)

	b.do("log out elsewhere", js(`window.fetch = () => Promise.resolve(new Response("You are logged out.", {status: 401, headers: {"Content-Type": "text/plain; charset=utf-8"}}))`))
	b.typeText("#text", " More.")
	b.has("#told", "You are logged out.")
	if got := b.value("#text"); got != "Walked to bathroom with cane. Ate.  Slept. More." {
		t.Errorf("the note is %q", got)
	}
}

// A note typed is not lost by one press, and is not taken for another resident's.
func walkHandsOver(t *testing.T, browser context.Context) {
	b := newTab(t, browser, newHome(t), nil, nil)
	b.goTo("/note?resident=R-101")
	b.do("have a clipboard", js(`Object.defineProperty(navigator, "clipboard", {value: {writeText: async (words) => { window.copied = words; }}})`))
	const walked = "Walked to bathroom with cane."
	b.typeText("#text", walked)
	b.has("#result .finding h3", "Error: ")
	b.settled()
	b.click("#clear")
	b.has("#undo", "The note is cleared.")
	b.click("#undo-do")
	b.settled()
	if got := b.value("#text"); got != walked {
		t.Errorf("after undoing Clear the note is %q", got)
	}
	b.has("#result .finding h3", "Error: ")

	b.click("#copy")
	b.has("#told", "Copied for R-101.")
	b.has("#told", "1 error is still open: ")
	b.choose("#resident", "R-102")
	b.has("#told", "The note in the field was copied for R-101.")
	b.click("#next")
	b.settled()
	if b.value("#text") != "" || b.value("#resident") != "R-102" {
		t.Errorf("after emptying: %q for %q", b.value("#text"), b.value("#resident"))
	}
	b.typeText("#text", "Slept well.")
	b.settled()
	b.click("#copy")
	b.has("#told", "Copied for R-102.")
	if told := ask[string](b, `document.getElementById("told").textContent`); strings.Contains(told, "open") {
		t.Errorf("a note with no error is told of as %q", told)
	}
	b.click("#next")
	b.settled()
	b.until("the next resident to be chosen", `document.activeElement.id === "other" && document.getElementById("resident").value === "" && document.getElementById("text").value === ""`)
	b.click("#undo-do")
	b.settled()
	if b.value("#text") != "Slept well." || b.value("#resident") != "R-102" {
		t.Errorf("undone: %q for %q", b.value("#text"), b.value("#resident"))
	}
}

// While 200 characters are typed, the field and the line that sums up stay where they are.
func walkTypesInPeace(t *testing.T, browser context.Context) {
	b := newTab(t, browser, newHome(t), nil, nil)
	for _, width := range []int64{360, 768, 1280} {
		b.wear("light", width)
		b.goTo("/note?resident=R-101")
		b.do("start anew", js(`document.getElementById("clear").click()`))
		b.settled()
		const places = `JSON.stringify(["text", "summary"].map((id) => { const r = document.getElementById(id).getBoundingClientRect(); return [id, r.top + scrollY, id === "text" ? r.height : 0]; }))`
		was := ask[string](b, places)
		for _, words := range []string{"Walked to bathroom with cane. ", "Dizzy on standing, sat down again. ", "Lifted to chair x1, pivot with belt, took steps. ", "Ate all of lunch and enjoyed the music hour with the others in the lounge, went well. Slept."} {
			b.typeText("#text", words)
			b.settled()
			if is := ask[string](b, places); is != was {
				t.Errorf("at %d px, after %q: %s, and before %s", width, words, is, was)
			}
		}
	}
}

func walkForgetsADraft(t *testing.T, browser context.Context) {
	h := newHome(t)
	b := newTab(t, browser, h, nil, nil)
	b.goTo("/note")
	for name, draft := range map[string]string{
		"the shift has ended":   `{user: "", until: Date.now() - 1, text: "left over", resident: "", other: "", role: "nurse", time: ""}`,
		"it is somebody else's": `{user: "other", until: Date.now() + 1e6, text: "left over", resident: "", other: "", role: "nurse", time: ""}`,
	} {
		b.do(name, js(`localStorage.setItem("draft", JSON.stringify(`+draft+`))`))
		b.goTo("/note")
		b.until("the draft to be gone, because "+name, `localStorage.getItem("draft") === null && document.getElementById("text").value === ""`)
	}
	h.config.Records.Policy.Drafts = "off"
	b.goTo("/note")
	b.choose("#resident", "R-101")
	b.has("#status", "toe touch only")
	b.typeText("#text", "Walked with cane.")
	b.has("#summary", "to look at")
	b.until("nothing kept", `localStorage.getItem("draft") === null`)
}

func walkGoesThroughAShift(t *testing.T, browser context.Context) {
	b := newTab(t, browser, newHome(t), nil, nil)
	b.goTo("/shift?unit=Harbour&shift=2026-11-12/evening")
	b.has(".open .finding", "Error") // the first one
	b.has(".residents li:first-child summary", "R-101")
	b.until("whoever has no note among the rows", `[...document.querySelectorAll(".residents > li")].length === 8 && [...document.querySelectorAll(".state.silent")].length === 4`)
	b.until("flagged ones open and no others", `[...document.querySelectorAll(".residents > li > details")].every((d) => d.open === !!d.querySelector(".finding"))`)
	const open = `document.querySelectorAll(".open .finding:not(.done)").length`
	before := ask[int](b, open)
	b.click(".reply summary")
	b.click(".reply input[value=confirmed]")
	b.until("no need of a reason", `!document.querySelector(".reply input[name=why]").required`)
	b.click(".reply input[value=mistaken]")
	b.until("need of a reason", `document.querySelector(".reply input[name=why]").required`)
	b.typeText(".reply input[name=why]", "The cane was for the room-mate.")
	b.typeText(".reply input[name=by]", "AB")
	b.follow(".reply button")
	b.has("#said", "Answered as mistaken")
	if after := ask[int](b, open); after != before-1 {
		t.Errorf("%d findings left, want %d", after, before-1)
	}
	b.has(".finding.done", "The cane was for the room-mate.")
	b.until("the numbers to be what they were", `[...document.querySelectorAll(".finding h3")].map((h) => h.textContent.match(/\d+/)[0]).join() === "1,2,3,4"`)
	b.click(".finding.done .reply summary")
	b.click(".finding.done .reply input[value=looking]")
	b.follow(".finding.done .reply button")
	b.has("#said", "Answered as being looked into")
	if after := ask[int](b, open); after != before {
		t.Errorf("%d findings left, want %d: what is being looked into stays open", after, before)
	}

	b.follow(`a[href^="/shift/handover"]`)
	for name, paper := range map[string][2]float64{"A4": {8.27, 11.69}, "Letter": {8.5, 11}} {
		printed, err := chromedp.Call(b.ctx, page.PrintToPDF, page.PrintToPDFParams{PaperWidth: paper[0], PaperHeight: paper[1]})
		if err != nil {
			t.Fatal(err)
		}
		if n := len(regexp.MustCompile(`/Type\s*/Page\b`).FindAll(printed.Data, -1)); n != 1 {
			t.Errorf("%s: the handover of 8 residents has %d sheets, want 1", name, n)
		}
		if shots := os.Getenv("STANCE_SHOTS"); shots != "" {
			if err := os.WriteFile(filepath.Join(shots, "handover-"+name+".pdf"), printed.Data, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
}

func walkFollowsAResident(t *testing.T, browser context.Context) {
	b := newTab(t, browser, newHome(t), nil, nil)
	b.goTo("/resident")
	b.follow(`.people a[href="/resident?id=R-101"]`)
	b.has("h1", "Resident R-101")
	b.has(".drawing svg", "Left leg")
	b.enter("#words", "walker")
	b.has("#main", "notes found")
	b.until("only notes that tell of a walker", `document.querySelectorAll(".kept > li").length > 0 &&
		[...document.querySelectorAll(".kept > li")].every((n) => n.querySelector("mark.hit"))`)
	b.until("an abbreviation among what is found", `[...document.querySelectorAll("mark.hit")].some((m) => /2ww/i.test(m.textContent))`)
	b.follow(".kept a.more")
	b.has("#diff", "What changed between two notes")
	b.until("what differs as a table of facts", `document.querySelectorAll("#diff .facts tbody tr").length > 0`)
}

func walkReadsAnAudit(t *testing.T, browser context.Context) {
	b := newTab(t, browser, newHome(t), nil, nil)
	b.goTo("/audit")
	b.choose("#table", "unit")
	b.follow(".choose button")
	b.has("#rates-name", "by unit")
	b.has("#told-name", "What notes tell of")
	b.click("section[aria-labelledby=told-name] summary")
	b.until("events of a unit", `document.querySelector("section[aria-labelledby=told-name] details[open] .events tbody").innerText.includes("Notes that tell of a fall")`)
	b.until("a drawing", `!!document.querySelector(".drawn svg title")`)
	figure := ask[string](b, `document.querySelector("td a").firstChild.textContent`)
	b.follow("td a")
	b.has("h1", "Behind the figure")
	b.has("#main", figure+" findings")
	b.until("words of notes", `!!document.querySelector("blockquote mark")`)
	b.follow(".turn a")
	b.has("h1", "Audit")
}

// A lesson is reached from every place, leads to the next one, and needs no script.
func walkLearns(t *testing.T, browser context.Context) {
	b := newTab(t, browser, newHome(t), nil, nil)
	b.wear("light", 320)
	b.goTo("/learn")
	b.until("all places on one line of a phone", `new Set([...document.querySelectorAll("nav li")].map((e) => e.getBoundingClientRect().top)).size === 1`)
	b.wear("light", 1280)
	for _, place := range []string{"/note", "/shift", "/resident", "/audit", "/learn"} {
		b.goTo(place)
		b.follow(".help a")
		b.has("h1", "Help")
		b.until("the help with "+place, fmt.Sprintf(`document.querySelector("section:target h2").getBoundingClientRect().top < innerHeight && location.hash === "#%s"`, place[1:]))
		b.follow("nav a[href='/learn']")
		b.has("h1", "Learn")
	}
	call(b, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	b.follow(".lessons a[href='/learn/weight-bearing']")
	b.has("h1", "Weight bearing")
	b.has("nav a[aria-current]", "Learn")
	b.has(".rules", "Ask the nurse or therapist how the resident may be moved")
	b.until("three notes to discuss", `document.querySelectorAll(".practice .asks").length === 3`)
	b.until("words marked", `[...document.querySelectorAll(".answers mark.error")].some((m) => m.textContent.includes("cane"))`)
	b.click(".answers mark + sup a, .answers sup a")
	b.until("the finding in view", `(() => { const r = document.querySelector(".finding:target").getBoundingClientRect(); return r.top < innerHeight && r.bottom > 0; })()`)
	b.has("footer", "decide how a resident is moved")
	for _, next := range []string{"Walking aids", "Transfers and lifts", "Getting up", "Falls", "Wheelchairs", "Writing notes"} {
		b.follow(".lesson > .turn a")
		b.has("h1", next)
	}
	b.gone(".lesson > .turn a")
	b.follow(".turn a")
	b.follow(".turn a[href='/learn/all']")
	b.until("all of them", `document.querySelectorAll(".lesson").length === 7`)
}

// On paper a lesson has no navigation and is sheets of its own: to teach from, to discuss, and the answers.
func walkPrintsALesson(t *testing.T, browser context.Context) {
	b := newTab(t, browser, newHome(t), nil, nil)
	for _, p := range []struct {
		name, path string
		sheets     int // at least: each topic, its notes and its answers
	}{{"topic", "/learn/falls", 3}, {"all", "/learn/all", 21}} {
		b.goTo(p.path)
		call(b, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
		for _, away := range []string{".top nav", ".turn", ".skip"} {
			if shown := ask[bool](b, fmt.Sprintf(`[...document.querySelectorAll(%s)].some((e) => e.getClientRects().length > 0)`, quoted(away))); shown {
				t.Errorf("%s: %s is on paper", p.path, away)
			}
		}
		if !ask[bool](b, `[...document.querySelectorAll(".lesson + .lesson, .practices, .answers")].every((e) => getComputedStyle(e).breakBefore === "page")`) {
			t.Errorf("%s: want each topic, its practice notes and its answers on a new sheet", p.path)
		}
		if !ask[bool](b, `[...document.querySelectorAll(".lesson")].every((e) => [...e.querySelectorAll(".answers .print-only"), document.querySelector("footer")]
			.some((e) => e.getClientRects().length > 0 && e.textContent.includes("decide how a resident is moved")))`) {
			t.Errorf("%s: want the caution with each topic", p.path)
		}
		printed, err := chromedp.Call(b.ctx, page.PrintToPDF, page.PrintToPDFParams{PaperWidth: 8.27, PaperHeight: 11.69})
		if err != nil {
			t.Fatal(err)
		}
		if n := len(regexp.MustCompile(`/Type\s*/Page\b`).FindAll(printed.Data, -1)); n < p.sheets || n > 2*p.sheets {
			t.Errorf("%s: %d sheets, want %d or some more", p.path, n, p.sheets)
		}
		if shots := os.Getenv("STANCE_SHOTS"); shots != "" {
			if err := os.WriteFile(filepath.Join(shots, "learn-"+p.name+".pdf"), printed.Data, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		call(b, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{})
	}
}

func walkKeyboard(t *testing.T, browser context.Context) {
	b := newTab(t, browser, newHome(t), nil, nil)
	b.goTo("/note?resident=R-101")
	// Tab through the page: each stop must be visible and show that it has the focus.
	seen := map[string]bool{}
	for range 40 {
		b.do("tab", chromedp.KeyEvent("\t"))
		stop := ask[struct {
			Name    string
			Visible bool
			Outline string
		}](b, `(() => { const e = document.activeElement, r = e.getBoundingClientRect(), s = getComputedStyle(e);
			return {Name: e.id || e.getAttribute("href") || e.tagName, Visible: r.width > 1 && r.height > 1, Outline: s.outlineStyle + " " + s.outlineWidth}; })()`)
		if stop.Name == "BODY" {
			break
		}
		seen[stop.Name] = true
		if !stop.Visible || !strings.HasPrefix(stop.Outline, "solid") {
			t.Errorf("focus on %s: visible %t, outline %s", stop.Name, stop.Visible, stop.Outline)
		}
	}
	for _, name := range []string{"#main", "/shift", "resident", "role", "text", "copy", "download", "clear"} {
		if !seen[name] {
			t.Errorf("the tab key does not reach %s", name)
		}
	}
}

func walkLogin(t *testing.T, browser context.Context) {
	dir := t.TempDir()
	file := filepath.Join(dir, "users")
	const password = "three warm blankets"
	if err := guard.AddUser(file, guard.User{Name: "writer", Roles: []guard.Role{guard.Write}, Units: []string{"Mill"}}, password, false); err != nil {
		t.Fatal(err)
	}
	users, err := guard.OpenUsers(file)
	if err != nil {
		t.Fatal(err)
	}
	accesses, err := guard.OpenAccessLog(filepath.Join(dir, "access.jsonl"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { accesses.Close() })
	b := newTab(t, browser, newHome(t), users, accesses)
	b.goTo("/note")
	b.until("the login", `!!document.querySelector("input[type=password]")`)
	t.Run("login is accessible", func(t *testing.T) {
		source := axe(t)
		for _, scheme := range []string{"light", "dark"} {
			for _, width := range []int64{320, 1280} {
				b := &tab{t, b.ctx, b.site}
				b.wear(scheme, width)
				b.accessible(source)
			}
		}
	})
	b.typeText("input[name=user]", "writer")
	b.enter("input[type=password]", password)
	b.until("the place", `!!document.querySelector("#note")`)
	b.has(".leave", "writer")
	b.until("only one's own units", `document.querySelectorAll("#resident optgroup").length === 1 && !!document.querySelector("#resident optgroup[label=Mill]")`)
	b.until("no other place but that for everybody", `document.querySelectorAll("nav a").length === 2 && !!document.querySelector("nav a[href='/learn']")`)
	for _, path := range []string{"/shift", "/resident?id=R-101"} {
		b.goTo(path)
		b.has("h1", "may not come here")
	}
	b.goTo("/note?resident=R-101") // of another unit
	b.has("#status", "No notes and no chart")
	b.follow(".leave button")
	b.until("the login", `!!document.querySelector("input[type=password]")`)
	b.goTo("/note")
	b.until("the login again", `!!document.querySelector("input[type=password]")`)
	seen, err := os.ReadFile(filepath.Join(dir, "access.jsonl"))
	if err != nil || strings.Contains(string(seen), "R-101") {
		t.Errorf("access log %q, %v; want nothing of the resident who was refused", seen, err)
	}
}

// walkAccess holds that every place is accessible, in light and dark, narrow and wide. With STANCE_SHOTS it leaves pictures in that folder.
func walkAccess(t *testing.T, browser context.Context) {
	source := axe(t)
	b := newTab(t, browser, newHome(t), nil, nil)
	for _, scheme := range []string{"light", "dark"} {
		for _, width := range []int64{320, 768, 1280} {
			b.wear(scheme, width)
			for _, p := range []struct{ name, path string }{
				{"note", "/note?resident=R-101"},
				{"shift", "/shift?unit=Harbour&shift=2026-11-12/evening"},
				{"handover", "/shift/handover?unit=Harbour&shift=2026-11-12/evening"},
				{"residents", "/resident"},
				{"resident", "/resident?id=R-101&words=walker&old=N0107&new=N0246"},
				{"audit", "/audit?table=unit"},
				{"rules", "/audit"},
				{"help", "/help#note"},
				{"learn", "/learn"},
				{"lesson", "/learn/weight-bearing"},
				{"lessons", "/learn/all"},
				{"behind", "/audit/notes?table=unit&value=Mill"},
				{"refused", "/resident?id=nobody"},
			} {
				t.Run(fmt.Sprintf("%s %s %d", p.name, scheme, width), func(t *testing.T) {
					b := &tab{t, b.ctx, b.site}
					b.goTo(p.path)
					if p.name == "note" {
						b.do("start anew", js(`document.getElementById("clear").click()`))
						b.typeText("#text", "Up at 0700, slept well. Lifted to chair x1, pivot with belt, took steps. Walked to bathroom with cane.\nQuorvel x2 to the commode. Dizzy on standing, sat down again. Ate all of lunch.")
						b.has("#summary", "to look at")
						b.until("findings", `document.querySelectorAll("#result .finding").length > 1`)
					}
					b.do("open all", js(`document.querySelectorAll("details").forEach((d) => d.open = true)`))
					b.accessible(source)
					b.do("close all", js(`document.querySelectorAll("details").forEach((d) => d.open = false)`))
					b.photograph(fmt.Sprintf("%s-%s-%d", p.name, scheme, width))
				})
			}
		}
	}
}
