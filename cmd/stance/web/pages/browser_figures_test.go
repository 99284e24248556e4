package pages_test

import (
	"bytes"
	"context"
	"encoding/base64"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"example.com/stance/index/course"
	"example.com/stance/lexicon"
	"example.com/stance/lint/note"
	"example.com/stance/lint/shift"
	"example.com/stance/lint/timeline"
)

// The widths of a phone, a tablet and a desk.
func widths() []int64 { return []int64{360, 768, 1280} }

// inFigure looks at the form of the course that is shown: d is its drawing, the plot where that scrolls.
func inFigure(expression string) string {
	return `(() => { const d = [...document.querySelectorAll(".course-figure svg")].find((s) => s.getClientRects().length > 0 && s.querySelector("desc")); return ` + expression + ` })()`
}

// The course can be read on any screen: its letters are of twelve pixels at least, the newest day is in view, the names of
// rows stay where they are, and each mark leads to its note.
func walkTheCourse(t *testing.T, browser context.Context) {
	b := newTab(t, browser, newHome(t), nil, nil)
	for _, width := range widths() {
		b.wear("light", width)
		b.goTo("/resident?id=R-101")
		if forms := ask[int](b, `[...document.querySelectorAll(".course-wide, .course-medium, .course-narrow")].filter((e) => e.getClientRects().length > 0).length`); forms != 1 {
			t.Errorf("at %d px: %d forms of the course are shown, want 1", width, forms)
		}
		small := ask[float64](b, `Math.min(...[...document.querySelectorAll(".course-figure svg text")].filter((e) => e.getClientRects().length > 0)
			.map((e) => { const s = e.ownerSVGElement; return parseFloat(getComputedStyle(e).fontSize) * s.getBoundingClientRect().width / s.viewBox.baseVal.width; }))`)
		if small < 11.99 {
			t.Errorf("at %d px: letters of %.1f px in the course, want 12", width, small)
		}
		inView := inFigure(`[...d.querySelectorAll(".axis")].some((e) => { const r = e.getBoundingClientRect(); return e.textContent === "22" && r.left >= 0 && r.right <= innerWidth; })`)
		if !ask[bool](b, inView) {
			t.Errorf("at %d px: the newest day is out of view", width)
		}
		if width < 700 {
			const name = `(() => { const e = [...document.querySelectorAll(".course-names .name")].find((e) => e.textContent === "Helpers"); e.scrollIntoView({block: "center", behavior: "instant"});
				const r = e.getBoundingClientRect(); return JSON.stringify([Math.round(r.left), document.elementFromPoint(r.left + 5, r.top + 5)?.closest("svg").classList.contains("course-names")]); })()`
			was := ask[string](b, name)
			b.do("look further back", js(`document.querySelector(".course-scroll").scrollLeft = -10000`))
			if ask[bool](b, inView) {
				t.Errorf("at %d px: the course does not scroll", width)
			}
			if is := ask[string](b, name); is != was || !strings.HasSuffix(is, ",true]") {
				t.Errorf("at %d px: the name of a row was at %s, and is at %s after scrolling", width, was, is)
			}
		}
		if n := ask[int](b, inFigure(`new Set([...d.querySelectorAll("a .number")].map((e) => e.textContent)).size`)); n != 4 {
			t.Errorf("at %d px: the marks of %d notes are links, want 4", width, n)
		}
		b.do("follow the mark of the note with the cane", js(inFigure(`[...d.querySelectorAll("a")].find((e) => e.querySelector(".number")?.textContent === "2").dispatchEvent(new MouseEvent("click", {bubbles: true, cancelable: true, view: window}))`)))
		b.until("the note in view", `(() => { const e = document.querySelector(".kept > li:target"); if (!e) return false; const r = e.getBoundingClientRect();
			return r.top < innerHeight && r.bottom > 0 && e.textContent.includes("walked to BR with cane"); })()`)
	}
	b.wear("dark", 1280)
	b.goTo("/resident?id=R-101")
	// A band of night must be seen against what is behind it, in light and dark.
	for _, scheme := range []string{"light", "dark"} {
		b.wear(scheme, 1280)
		if got := ask[float64](b, inFigure(`(() => {
			const l = (c) => { const v = c.match(/[\d.]+/g).slice(0, 3).map((x) => { x /= 255; return x <= 0.04045 ? x / 12.92 : ((x + 0.055) / 1.055) ** 2.4; }); return 0.2126 * v[0] + 0.7152 * v[1] + 0.0722 * v[2]; };
			const a = l(getComputedStyle(d.querySelector(".night")).fill), p = l(getComputedStyle(document.querySelector(".drawing")).backgroundColor);
			return (Math.max(a, p) + 0.05) / (Math.min(a, p) + 0.05); })()`)); got < 1.15 {
			t.Errorf("%s: nights differ from the ground by %.2f", scheme, got)
		}
	}
}

// An audit at each width: the headline first, every unit named, nothing cut off, rows put in another order, a figure opened
// and a finding of it answered.
func walkAnswersAnAudit(t *testing.T, browser context.Context) {
	b := newTab(t, browser, newHome(t), nil, nil)
	for i, width := range widths() {
		b.wear("light", width)
		b.goTo("/audit")
		b.has("h1 + .headline", "times as frequent in notes of the evening shift")
		b.until("the headline in view", `document.querySelector(".headline").getBoundingClientRect().bottom < innerHeight`)
		b.until("every unit named", `(() => { const d = [...document.querySelectorAll("[aria-labelledby=units-name] svg")].find((s) => s.getClientRects().length > 0);
			return ["Harbour", "Mill", "Orchard"].every((u) => [...d.querySelectorAll("text")].some((e) => { const r = e.getBoundingClientRect(); return e.textContent.startsWith(u) && r.left >= 0 && r.right <= innerWidth; })); })()`)
		if cut := ask[string](b, `[...document.querySelectorAll(".rates td, .rates th, .events td, .drawn svg")].filter((e) => { const r = e.getBoundingClientRect();
			return r.width > 0 && (r.right > innerWidth + 1 || r.left < 0 || e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).display === "table-cell"); }).map((e) => e.textContent.slice(0, 40)).join("; ")`); cut != "" {
			t.Errorf("at %d px: cut off: %s", width, cut)
		}
		b.follow(".rates thead th:nth-child(3) a")
		b.until("rows in the order of rates", `document.querySelector(".rates thead th:nth-child(3)").ariaSort === "descending" || document.querySelector(".rates thead th:nth-child(3)").getAttribute("aria-sort") === "descending"`)
		b.goTo("/audit?table=shift")
		b.follow(`.rates td a[href*="value=evening"]`)
		b.has("h2", "evening shift")
		b.has(".open > li:first-child", "Error")
		answered := ask[int](b, `document.querySelectorAll(".finding.done").length`)
		if answered != i {
			t.Errorf("at %d px: %d findings are answered, want %d", width, answered, i)
		}
		b.click(".finding:not(.done) .reply summary")
		b.click(".finding:not(.done) .reply input[value=confirmed]")
		if ask[bool](b, `document.querySelector(".finding:not(.done) .reply input[name=by]").value === ""`) {
			b.typeText(".finding:not(.done) .reply input[name=by]", "AB")
		}
		b.follow(".finding:not(.done) .reply button")
		b.has("#said", "Answered as confirmed")
		b.has("h1", "Behind the figure")
		b.follow(".turn a")
		b.has("#rates-name", "by shift")
		b.has("#answers-name + p", fmt.Sprintf("%d confirmed or put right", i+1))
	}
}

// walkStates holds that each state of following a resident and of the audit is accessible and fits its width.
func walkStates(t *testing.T, browser context.Context) {
	source := axe(t)
	at := func(hour int) time.Time { return time.Date(2026, 11, 20, hour, 0, 0, 0, time.UTC) }
	h := newHome(t,
		note.Note{ID: "C1", Resident: "R-900", Unit: "Mill", Time: at(15), Role: lexicon.CareWorker, Text: "Pivot x2 with belt to chair, NWB left leg, ate well and slept."},
		note.Note{ID: "C2", Resident: "R-900", Unit: "Mill", Time: at(21), Role: lexicon.CareWorker, Text: "Pivot x1 with belt to chair, NWB left leg, ate well and slept."})
	for _, form := range []string{"confirmed", "mistaken"} { // so that there are answers to be counted
		id := firstFinding(t, h.get(harbourEvening).Body.String())
		h.post("/shift", "unit", "Harbour", "shift", "2026-11-12/evening", "finding", id, "as", form, "why", "seen", "by", "AB")
	}
	b := newTab(t, browser, h, nil, nil)
	for _, scheme := range []string{"light", "dark"} {
		for _, width := range widths() {
			b.wear(scheme, width)
			for _, p := range []struct{ name, path string }{
				{"facts", "/resident?id=R-101&old=N0107&new=N0246"},
				{"copies", "/resident?id=R-900&old=C1&new=C2"},
				{"no-chart", "/resident?id=R-900"},
				{"rules", "/audit"},
				{"by-name", "/audit?sort=name"},
				{"shifts", "/audit?table=shift&sort=rate"},
				{"one-rule", "/audit?scope=load-over-limit&by=month"},
				{"narrowed", "/audit?unit=Mill&from_day=2026-11-16"},
				{"nothing", "/audit?from_day=2027-01-01"},
				{"findings", "/audit/notes?table=unit&value=Harbour"},
			} {
				t.Run(fmt.Sprintf("%s %s %d", p.name, scheme, width), func(t *testing.T) {
					b := &tab{t, b.ctx, b.site}
					b.goTo(p.path)
					b.picture(p.name, scheme, width)
					b.do("open all", js(`document.querySelectorAll("details").forEach((d) => d.open = true)`))
					b.accessible(source)
				})
			}
		}
	}
}

// picture leaves one of the page in the folder that STANCE_SHOTS names.
func (b *tab) picture(name, scheme string, width int64) {
	b.Helper()
	shots := os.Getenv("STANCE_SHOTS")
	if shots == "" {
		return
	}
	png, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
	if err != nil {
		b.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(shots, fmt.Sprintf("%s-%s-%d.png", name, scheme, width)), png, 0o600); err != nil {
		b.Fatal(err)
	}
}

// The files of reports are whole on a phone, a tablet and a desk, in light and dark, accessible, and printed on few sheets.
func walkFiles(t *testing.T, browser context.Context) {
	source := axe(t)
	h := newHome(t)
	lex, err := usual()
	if err != nil {
		t.Fatal(err)
	}
	p := h.config.Records.Policy
	var notes []note.Note
	for _, n := range demoNotes(t, p) {
		if n.Resident == "R-101" {
			notes = append(notes, n)
		}
	}
	cal, err := shift.NewCalendar(p.Shifts, p.Zone)
	if err != nil {
		t.Fatal(err)
	}
	var drawn bytes.Buffer
	c := course.Build(timeline.New("R-101", notes, lex, demoChart(t, p), cal), course.Options{LiftHelpers: p.LiftHelpers})
	if err := course.HTML(&drawn, c, course.DrawOptions{Zone: p.Zone, Calendar: cal}); err != nil {
		t.Fatal(err)
	}
	counted := h.get("/audit/report").Body.String() // before the guard has its say
	b := newTab(t, browser, h, nil, nil)
	for _, file := range []struct {
		name, html, first string
		sheets            int // at most
		landscape         bool
	}{
		{"history", drawn.String(), "2 notes differ from the chart", 1, true},
		{"audit", counted, "Findings are 4.7 times as frequent", 14, false},
	} {
		for _, scheme := range []string{"light", "dark"} {
			for _, width := range widths() {
				t.Run(fmt.Sprintf("%s %s %d", file.name, scheme, width), func(t *testing.T) {
					b := &tab{t, b.ctx, b.site}
					b.wear(scheme, width)
					b.arrive("open the file", func() {
						b.do("open the file", chromedp.Navigate("data:text/html;charset=utf-8;base64,"+base64.StdEncoding.EncodeToString([]byte(file.html))))
					})
					b.has("h1 + .headline", file.first)
					b.picture("file-"+file.name, scheme, width)
					b.do("open all", js(`document.querySelectorAll("details").forEach((d) => d.open = true)`))
					b.accessible(source)
					if cut := ask[string](b, `[...document.querySelectorAll("td, th, figure svg, .drawn svg")].filter((e) => { const r = e.getBoundingClientRect();
						return r.width > 0 && r.right > innerWidth + 1; }).map((e) => e.textContent.slice(0, 40)).join("; ")`); cut != "" {
						t.Errorf("cut off: %s", cut)
					}
				})
			}
		}
		b.wear("light", 1280)
		b.arrive("open the file", func() {
			b.do("open the file", chromedp.Navigate("data:text/html;charset=utf-8;base64,"+base64.StdEncoding.EncodeToString([]byte(file.html))))
		})
		call(b, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
		printed, err := chromedp.Call(b.ctx, page.PrintToPDF, page.PrintToPDFParams{PaperWidth: 8.27, PaperHeight: 11.69, Landscape: &file.landscape})
		if err != nil {
			t.Fatal(err)
		}
		call(b, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{})
		if n := sheetsOf(printed.Data); n == 0 || n > file.sheets {
			t.Errorf("%s: %d sheets, want %d at most", file.name, n, file.sheets)
		}
	}
}

// sheetsOf counts the sheets of a printed page.
func sheetsOf(pdf []byte) int { return len(regexp.MustCompile(`/Type\s*/Page\b`).FindAll(pdf, -1)) }
