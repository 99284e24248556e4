package pages_test

import (
	"html"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"

	"example.com/stance/lint/handbook"
	"example.com/stance/lint/rules"
)

// Each lesson has its rules, and the practice notes with what is found in them; none of it is anybody's record.
func TestLearn(t *testing.T) {
	topics, err := handbook.All()
	if err != nil {
		t.Fatal(err)
	}
	h := newHome(t)
	contents := h.get("/learn")
	whole := h.get("/learn/all")
	for i, topic := range topics {
		want(t, contents, http.StatusOK, `<a href="/learn/`+topic.ID+`">`+topic.Title+"</a>")
		page := h.get("/learn/" + topic.ID)
		want(t, page, http.StatusOK, "<h1>"+topic.Title+"</h1>", "decide how a resident is moved", "Nothing to flag: this is written well.")
		text := html.UnescapeString(page.Body.String())
		for _, r := range topic.Rules {
			if !strings.Contains(text, r.Doc.Do) || !strings.Contains(html.UnescapeString(whole.Body.String()), r.Doc.Do) {
				t.Errorf("%s: what to do for %s is not on the pages", topic.ID, r.ID)
			}
		}
		for _, p := range topic.Practice {
			if !strings.Contains(text, p.Shows) || !strings.Contains(text, p.Asks) {
				t.Errorf("%s: a practice note is not on the page", topic.ID)
			}
			for _, id := range p.Finds {
				at := slices.IndexFunc(topic.Rules, func(r rules.Rule) bool { return r.ID == id })
				title := topic.Rules[at].Doc.Title
				if !regexp.MustCompile(`[0-9]\. (Error|Warning|Hint): ` + strings.ToUpper(title[:1]) + regexp.QuoteMeta(title[1:])).MatchString(text) {
					t.Errorf("%s: no finding of %s on the page", topic.ID, id)
				}
			}
		}
		if i+1 < len(topics) {
			want(t, page, http.StatusOK, "Next: "+topics[i+1].Title)
		} else {
			wantNone(t, page, "Next: ")
		}
	}
	want(t, h.get("/learn/nothing"), http.StatusNotFound, "There is no such topic")
	if len(h.seen) > 0 {
		t.Errorf("the access log tells of %q, and nobody was shown", h.seen)
	}
	// A finding's number is its own on the page, and its place in the note leads to it.
	for _, path := range []string{"/learn/falls", "/learn/all"} {
		page := h.get(path).Body.String()
		var numbers []string
		for _, m := range regexp.MustCompile(`id="finding-([0-9]+)"`).FindAllStringSubmatch(page, -1) {
			if slices.Contains(numbers, m[1]) {
				t.Errorf("%s: two findings are number %s", path, m[1])
			}
			if numbers = append(numbers, m[1]); !strings.Contains(page, `href="#finding-`+m[1]+`"`) {
				t.Errorf("%s: nothing leads to finding %s", path, m[1])
			}
		}
		if len(numbers) < 2 {
			t.Errorf("%s: %d findings, want several", path, len(numbers))
		}
	}
}
