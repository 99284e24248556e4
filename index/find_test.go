package index_test

import (
	"bufio"
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/index"
	"example.com/stance/lint/note"
)

// ownNotes are the invented notes that the tables of queries are about.
func ownNotes(t testing.TB) []note.Note {
	t.Helper()
	jsonl, err := os.ReadFile("testdata/notes.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	return readNotes(t, "testdata/notes.jsonl", jsonl)
}

// kept is an index of notes.
func kept(t testing.TB, notes []note.Note) *index.Index {
	t.Helper()
	lex := newLexicon(t)
	dir := filepath.Join(t.TempDir(), "index")
	keep(t, dir, lex, notes, index.KeepOptions{})
	return open(t, dir, lex)
}

func ids(page index.Page) []string {
	all := []string{}
	for _, h := range page.Hits {
		all = append(all, h.Note.ID)
	}
	return all
}

func parseQuery(t *testing.T, line string) index.Query {
	t.Helper()
	q := index.Query{Fields: map[string]string{}}
	moment := func(s string) time.Time {
		if len(s) == len(time.DateOnly) {
			s += "T00:00:00Z"
		}
		at, err := time.Parse(time.RFC3339, s)
		if err != nil {
			t.Fatal(err)
		}
		return at
	}
	var words []string
	for _, field := range strings.Fields(line) {
		name, value, isFlag := strings.Cut(field, "=")
		if !isFlag {
			words = append(words, field)
			continue
		}
		switch name {
		case "concept":
			q.Concepts = append(q.Concepts, value)
		case "aid":
			q.Aid = value
		case "polarity":
			q.Polarity = value
		case "anyone":
			q.Anyone = true
		case "anytime":
			q.AnyTime = true
		case "planned":
			q.Planned = true
		case "unit":
			q.Unit = value
		case "resident":
			q.Resident = value
		case "role":
			q.Role = value
		case "shift":
			q.Shift = value
		case "order":
			q.Order = value
		case "since":
			q.Since = moment(value)
		case "until":
			q.Until = moment(value)
		default:
			q.Fields[name] = value
		}
	}
	q.Words = strings.Join(words, " ")
	return q
}

func TestRelevance(t *testing.T) {
	x := kept(t, ownNotes(t))
	f, err := os.Open("testdata/queries.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	queries := 0
	lines := bufio.NewScanner(f)
	for lines.Scan() {
		line := lines.Text()
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		typed, wanted, ok := strings.Cut(line, "=> ")
		if !ok {
			typed, wanted, ok = strings.Cut(line, "=>")
		}
		if !ok {
			t.Fatalf("testdata/queries.txt: %q: want a query, => and ids", line)
		}
		queries++
		t.Run(strings.TrimSpace(typed), func(t *testing.T) {
			want := strings.Fields(wanted)
			only := len(want) > 0 && want[0] == "only"
			if only {
				want = want[1:]
			}
			page := find(t, x, parseQuery(t, typed))
			got := ids(page)
			if only && page.Total != len(want) {
				t.Errorf("found %d notes, want %d: %v", page.Total, len(want), got)
			}
			first := slices.Sorted(slices.Values(got[:min(len(got), len(want))]))
			slices.Sort(want)
			if !slices.Equal(first, want) {
				t.Errorf("found first %v of %v, want %v", first, got, want)
			}
		})
	}
	if err := lines.Err(); err != nil {
		t.Fatal(err)
	}
	if queries < 40 {
		t.Errorf("%d queries, want 40 or more", queries)
	}
}

func TestUnknown(t *testing.T) {
	x := kept(t, ownNotes(t))
	for _, c := range []struct {
		q    index.Query
		want index.UnknownError
	}{
		{index.Query{Concepts: []string{"bearing.non"}}, index.UnknownError{What: "concept", Value: "bearing.non", Nearest: "bearing.none"}},
		{index.Query{Concepts: []string{"moves"}}, index.UnknownError{What: "concept", Value: "moves", Nearest: "move"}},
		{index.Query{Concepts: []string{"weather"}}, index.UnknownError{What: "concept", Value: "weather"}},
		{index.Query{Aid: "roler"}, index.UnknownError{What: "aid", Value: "roler"}},
		{index.Query{Aid: "walkr"}, index.UnknownError{What: "aid", Value: "walkr", Nearest: "walker"}},
		{index.Query{Fields: map[string]string{"side": "lft"}}, index.UnknownError{What: "side", Value: "lft", Nearest: "left"}},
		{index.Query{Fields: map[string]string{"sides": "left"}}, index.UnknownError{What: "field", Value: "sides", Nearest: "side"}},
		{index.Query{Fields: map[string]string{"staff": "two"}}, index.UnknownError{What: "number of staff", Value: "two"}},
		{index.Query{Polarity: "negatd"}, index.UnknownError{What: "polarity", Value: "negatd", Nearest: "negated"}},
		{index.Query{Order: "new"}, index.UnknownError{What: "order", Value: "new"}},
		{index.Query{Unit: "Wilow"}, index.UnknownError{What: "unit", Value: "Wilow", Nearest: "Willow"}},
		{index.Query{Role: "nurs"}, index.UnknownError{What: "role", Value: "nurs", Nearest: "nurse"}},
		{index.Query{Shift: "evning"}, index.UnknownError{What: "shift", Value: "evning", Nearest: "evening"}},
		{index.Query{Resident: "S-11"}, index.UnknownError{What: "resident", Value: "S-11", Nearest: "S-1"}},
	} {
		_, err := x.Find(context.Background(), c.q)
		var got *index.UnknownError
		if !errors.As(err, &got) {
			t.Errorf("Find(%+v): %v, want an UnknownError", c.q, err)
			continue
		}
		if diff := cmp.Diff(&c.want, got); diff != "" {
			t.Errorf("Find(%+v): (-want +got)\n%s", c.q, diff)
		}
	}
	if page := find(t, x, index.Query{Role: "doctor"}); page.Total != 0 {
		t.Errorf("a role that no note has: found %d notes", page.Total)
	}
}

func TestFacets(t *testing.T) {
	x := kept(t, ownNotes(t))
	page := find(t, x, index.Query{Aid: "walker", Anyone: true, Limit: 1})
	want := map[string][]index.Count{
		"resident": {{"S-1", 4}, {"S-8", 1}},
		"unit":     {{"Willow", 4}, {"Aspen", 1}},
		"role":     {{"care worker", 4}, {"therapist", 1}},
		"shift":    {{"day", 3}, {"evening", 1}, {"night", 1}},
		"concept":  {{"aid.walker", 1}, {"aid.walker-2w", 1}, {"aid.walker-4w", 1}, {"move.up", 1}, {"move.walk", 1}},
		"rule":     {},
	}
	if diff := cmp.Diff(want, page.Facets); diff != "" {
		t.Errorf("facets (-want +got)\n%s", diff)
	}
}

func TestSpans(t *testing.T) {
	x := kept(t, ownNotes(t))
	for _, c := range []struct {
		q          index.Query
		note       string
		want       []string // words marked
		statements int
	}{
		{index.Query{Words: "walker", Resident: "S-1", Order: index.ByTime}, "Q01", []string{"2WW"}, 1},
		{index.Query{Concepts: []string{"bearing.none"}, Fields: map[string]string{"side": "left"}, Order: index.ByTime}, "Q06", []string{"NWB", "LLE"}, 1},
		{index.Query{Words: `"blue one"`}, "Q17", []string{"blue one"}, 2},
		{index.Query{Words: "balanc*"}, "Q25", []string{"balance"}, 1},
		{index.Query{Words: "blankett"}, "Q05", []string{"blanket"}, 1},
		{index.Query{Unit: "Willow", Order: index.ByTime}, "Q06", nil, 2},
	} {
		page := find(t, x, c.q)
		i := slices.Index(ids(page), c.note)
		if i < 0 {
			t.Errorf("Find(%+v) = %v, want %s among them", c.q, ids(page), c.note)
			continue
		}
		hit := page.Hits[i]
		var got []string
		for _, s := range hit.Spans {
			got = append(got, hit.Note.Text[s.Start:s.End])
			if s.Line != 1 || s.Column != s.Start+1 { // one line of ASCII
				t.Errorf("Find(%+v): span %+v", c.q, s)
			}
		}
		if !slices.Equal(got, c.want) || len(hit.Statements) != c.statements {
			t.Errorf("Find(%+v): marked %q with %d statements, want %q with %d", c.q, got, len(hit.Statements), c.want, c.statements)
		}
	}
}

// TestPaging reads page after page in every order, with and without notes being kept in between.
func TestPaging(t *testing.T) {
	lex := newLexicon(t)
	demo := demoNotes(t)
	for _, order := range []string{index.ByRelevance, index.ByTime, index.ByNewest} {
		for _, growing := range []bool{false, true} {
			name := order
			if growing {
				name += ", growing"
			}
			t.Run(name, func(t *testing.T) {
				dir := filepath.Join(t.TempDir(), "index")
				first, later := demo[:300], demo[300:]
				keep(t, dir, lex, first, index.KeepOptions{})
				x := open(t, dir, lex)
				q := index.Query{Words: "belt", Order: order, Limit: 7}
				all := map[string]bool{}
				for _, id := range ids(find(t, x, index.Query{Words: "belt", Limit: len(demo)})) {
					all[id] = true
				}
				if len(all) < 3*q.Limit {
					t.Fatalf("%d notes found, too few for pages", len(all))
				}
				seen := map[string]bool{}
				for {
					page := find(t, x, q)
					for _, id := range ids(page) {
						if seen[id] {
							t.Errorf("%s is on two pages", id)
						}
						seen[id] = true
					}
					if page.Next == "" {
						break
					}
					q.After = page.Next
					if growing && len(later) > 0 {
						n := min(30, len(later))
						keep(t, dir, lex, later[:n], index.KeepOptions{})
						later = later[n:]
					}
				}
				for id := range all {
					if !seen[id] {
						t.Errorf("%s is on no page", id)
					}
				}
				if !growing && len(seen) != len(all) {
					t.Errorf("pages have %d notes, want %d", len(seen), len(all))
				}
			})
		}
	}
}

func TestPageMark(t *testing.T) {
	x := kept(t, ownNotes(t))
	page := find(t, x, index.Query{Limit: 2})
	for name, q := range map[string]index.Query{
		"of another query": {Unit: "Aspen", After: page.Next},
		"of another order": {Order: index.ByTime, After: page.Next},
		"nonsense":         {After: "!"},
		"cut":              {After: page.Next[:10]},
	} {
		if _, err := x.Find(context.Background(), q); !errors.Is(err, index.ErrAfter) {
			t.Errorf("a page mark %s: %v, want ErrAfter", name, err)
		}
	}
	if got := find(t, x, index.Query{Limit: 3, After: page.Next}); len(got.Hits) != 3 {
		t.Errorf("another limit: %d hits, want 3", len(got.Hits))
	}
}

// TestFacetsOfMany holds the counts to those of the notes found, in an index of many segments with notes that
// were amended and checked since.
func TestFacetsOfMany(t *testing.T) {
	ctx := context.Background()
	lex := newLexicon(t)
	dir := filepath.Join(t.TempDir(), "index")
	for seed := range uint64(4) { // the same ids again: all but the first replace notes
		w := openWriter(t, dir, lex)
		w.SetBatch(90)
		_, err := w.Keep(ctx, vary(demoNotes(t), 400, seed), index.KeepOptions{Shift: func(n *note.Note) string {
			return []string{"day", "evening", "night"}[n.Time.Hour()/8]
		}})
		if err == nil {
			err = w.SetRules(ctx, map[string][]string{"V7": {"a"}, "V8": {"a", "b"}, "V" + strconv.Itoa(int(seed)): {"b"}})
		}
		if err := errors.Join(err, w.Close()); err != nil {
			t.Fatal(err)
		}
	}
	x := open(t, dir, lex)
	for name, q := range map[string]index.Query{
		"all":             {},
		"fact":            {Concepts: []string{"move.walk"}},
		"words by time":   {Words: "walker", Order: index.ByTime},
		"earlier, unit":   {Earlier: true, Unit: "Mill"},
		"nothing":         {Words: "xyzzyxyzzy"},
		"with rules":      {Rule: "b"},
		"a long way back": {Until: time.Date(2024, 2, 1, 0, 0, 0, 0, time.UTC)},
	} {
		q.Limit = 10_000
		page := find(t, x, q)
		want := map[string]map[string]int{"resident": {}, "unit": {}, "role": {}, "rule": {}}
		for _, h := range page.Hits {
			want["resident"][h.Note.Resident]++
			want["unit"][h.Note.Unit]++
			want["role"][string(h.Note.Role)]++
			for _, r := range h.Rules {
				want["rule"][r]++
			}
		}
		if page.Total != len(page.Hits) || (page.Total == 0) != (name == "nothing") {
			t.Errorf("%s: %d found, %d shown", name, page.Total, len(page.Hits))
		}
		for facet, counts := range want {
			got := map[string]int{}
			for _, c := range page.Facets[facet] {
				got[c.Value] = c.Notes
			}
			if diff := cmp.Diff(counts, got); diff != "" {
				t.Errorf("%s, by %s: (-want +got)\n%s", name, facet, diff)
			}
		}
		shifts := 0
		for _, c := range page.Facets["shift"] {
			shifts += c.Notes
		}
		if shifts != page.Total || page.Facets["concept"] == nil {
			t.Errorf("%s: %d notes by shift and concepts %v, want %d notes", name, shifts, page.Facets["concept"], page.Total)
		}
	}
}
