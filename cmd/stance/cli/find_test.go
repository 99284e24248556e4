package cli

import (
	"encoding/csv"
	"encoding/json"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"example.com/stance/lexicon"
	"example.com/stance/lint/shift"
)

// The pages of a search make up the whole of it, in every order.
func TestFindPages(t *testing.T) {
	dir, notes, _ := demoHome(t)
	kept := filepath.Join(dir, "kept")
	run(t, []int{statusClean}, "keep", "--index", kept, "--quiet", notes)
	for _, order := range []string{"relevance", "time", "newest"} {
		find := []string{"find", "--index", kept, "--order", order, "walked"}
		whole := noteIDs(t, run(t, []int{statusClean}, append(find, "--limit", "0", "--format", "csv")...))
		var paged []string
		for next := ""; ; {
			var page foundPage
			args := append(find, "--limit", "37", "--format", "json", "--after", next)
			if err := json.Unmarshal([]byte(run(t, []int{statusClean}, args...)), &page); err != nil {
				t.Fatal(err)
			}
			for _, h := range page.Hits {
				paged = append(paged, h.Note)
			}
			if page.Total != len(whole) {
				t.Errorf("order %s: total %d, want %d", order, page.Total, len(whole))
			}
			if next = page.Next; next == "" {
				break
			}
		}
		if len(whole) < 75 || !slices.Equal(paged, whole) {
			t.Errorf("order %s: pages hold %v, want %v", order, paged, whole)
		}
	}
}

func noteIDs(t *testing.T, table string) []string {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(table)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var ids []string
	for _, row := range rows[1:] {
		ids = append(ids, row[0])
	}
	return ids
}

func TestExcerpt(t *testing.T) {
	long := strings.Repeat("then she sat by the window and looked out ", 12)
	for _, tt := range []struct{ text, want string }{
		{"Ate well. <Walked> to tea. Slept.", "… «Walked» to tea. …"},
		{"<Walked> to tea", "«Walked» to tea"},
		{"<Walked> to tea. Ate. Then <walked> back? <Walked> on!", "«Walked» to tea. … Then «walked» back? «Walked» on!"},
		{"S: fine\nO: <walked>\nP: rest", "… O: «walked» …"},
		{"BP 120.5 <dizzy>", "BP 120.5 «dizzy»"},
		{"She <walked. Then\nstopped> there. Rest.", "She «walked. Then stopped» there. …"},
		{"Slept well. Ate.", "Slept well. Ate."},
		{"", ""},
		{"  \n\n Slept \x1b[31m.", "Slept  [31m."},
		{long + "<walked> " + long + ".", "… window and looked out then she sat by the window and looked out then she sat by the window and looked out " +
			"«walked» then she sat by the window and looked out then she sat by the window and looked out then she sat by …"},
		{"é <été> à", "é «été» à"},
	} {
		text, spans := marked(tt.text)
		v := &findView{}
		if got := v.excerpt(text, spans); got != tt.want {
			t.Errorf("excerpt(%q) =\n%q, want\n%q", tt.text, got, tt.want)
		}
	}
}

// marked takes the < and > out of a text, and gives the places between them.
func marked(s string) (string, []lexicon.Span) {
	var text strings.Builder
	var spans []lexicon.Span
	for _, r := range s {
		switch r {
		case '<':
			spans = append(spans, lexicon.Span{Start: text.Len()})
		case '>':
			spans[len(spans)-1].End = text.Len()
		default:
			text.WriteRune(r)
		}
	}
	return text.String(), spans
}

// FuzzSentences holds sentences to what an excerpt needs of them, whatever the text.
func FuzzSentences(f *testing.F) {
	f.Add("Ate. Walked to tea? Slept.", 5, 11, 12, 14)
	f.Add("é\xff.\n", 0, 1, 2, 4)
	f.Add(" 000", 0, 1, 2, 4) // a place on the blank before a sentence
	f.Fuzz(func(t *testing.T, text string, a, b, c, d int) {
		spans := []lexicon.Span{{Start: a, End: b}, {Start: c, End: d}}
		if a < 0 || a >= b || b > c || c >= d || d > len(text) {
			return
		}
		at := 0
		inside := 0
		for _, s := range sentencesOf(text, spans) {
			if s.start < at || s.end <= s.start || s.end > len(text) {
				t.Fatalf("sentence %v after %d in a text of %d bytes", s, at, len(text))
			}
			for _, m := range spans {
				if s.start <= m.Start && m.End <= s.end {
					inside++
				}
			}
			at = s.end
		}
		if inside != len(spans) {
			t.Errorf("%d of %d places are inside a sentence", inside, len(spans))
		}
	})
}

// The times of a day's shift are those at which a note that states it belongs to it.
func TestShiftTimes(t *testing.T) {
	toronto, err := time.LoadLocation("America/Toronto")
	if err != nil {
		t.Fatal(err)
	}
	for _, starts := range []map[string]string{
		{"day": "07:00", "evening": "15:00", "night": "23:00"},
		{"day": "06:30", "night": "18:30"},
		{"night": "00:00", "day": "08:00", "evening": "16:00"},
		{"whole": "07:00"},
	} {
		cal, err := shift.NewCalendar(starts, toronto)
		if err != nil {
			t.Fatal(err)
		}
		for _, day := range []string{"2026-11-12", "2026-11-01", "2026-03-08", "2026-12-31"} { // clocks change on two of them
			for _, name := range cal.Names() {
				since, until, err := shiftTimes(cal, day, name)
				if err != nil {
					t.Fatal(err)
				}
				want := day + "/" + name
				for at, in := range map[time.Time]bool{
					since.Add(-2 * time.Hour): false, since.Add(2 * time.Hour): true,
					until.Add(-2 * time.Hour): true, until.Add(2 * time.Hour): false,
				} {
					if got := cal.Key(at, name).String(); (got == want) != in {
						t.Errorf("%v: %s is from %s to %s, but a note of %s is of %s", starts, want, since, until, at, got)
					}
				}
			}
		}
	}
}
