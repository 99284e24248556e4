package homes_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/index"
	"example.com/stance/index/homes"
	"example.com/stance/lexicon"
	"example.com/stance/lint/note"
)

// invented are notes of one home, whose times are all different and lie between those of the others.
func invented(home, n int) []note.Note {
	texts := []string{
		"Walked to the lounge with 2WW x1.", "Pivot transfer x2 with belt to the wheelchair.", "Slept well, walked to BR with cane.",
		"Ate well. Walked, walked again, and walked once more.", "NWB LLE kept.",
	}
	var notes []note.Note
	for i := range n {
		notes = append(notes, note.Note{
			ID: fmt.Sprintf("N%d", i), Resident: fmt.Sprintf("R-%d", i%3), Unit: "Fir", Role: lexicon.CareWorker,
			Time: time.Date(2026, 11, 1+i, 8, home, 0, 0, time.UTC), Text: texts[(i+home)%len(texts)],
		})
	}
	return notes
}

func kept(t *testing.T, lex *lexicon.Lexicon, notes []note.Note) *index.Index {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "index")
	w, err := index.OpenWriter(dir, lex)
	if err != nil {
		t.Fatal(err)
	}
	i := 0
	if _, err := w.Keep(context.Background(), func() (note.Note, error) {
		if i == len(notes) {
			return note.Note{}, io.EOF
		}
		i++
		return notes[i-1], nil
	}, index.KeepOptions{}); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	x, err := index.Open(dir, lex)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// ask asks homes for all pages of a query and gives what they have, "home note" for each.
func ask(t *testing.T, all []homes.Home, order string, limit int) []string {
	t.Helper()
	var got []string
	for after, pages := "", 0; ; pages++ {
		page, failed, err := homes.Find(context.Background(), all, homes.Ask{Order: order, Limit: limit, After: after})
		if err != nil || len(failed) > 0 {
			t.Fatalf("Find: %v %v", failed, err)
		}
		for _, h := range page.Hits {
			got = append(got, h.Home+" "+h.Note.ID)
		}
		if after = page.Next; after == "" {
			if len(got) != page.Total {
				t.Errorf("%s by %d: %d notes on %d pages, the total says %d", order, limit, len(got), pages+1, page.Total)
			}
			return got
		}
		if len(page.Hits) != limit || pages > 100 {
			t.Fatalf("%s: a page of %d, want %d, and an end", order, len(page.Hits), limit)
		}
	}
}

func TestFindIsOneSearch(t *testing.T) {
	lex, err := lexicon.New()
	if err != nil {
		t.Fatal(err)
	}
	q := index.Query{Words: "walked"}
	var all []homes.Home
	type at struct {
		name string
		time time.Time
	}
	var want []at
	for i, name := range []string{"Ash", "Birch", "Elm"} {
		notes := invented(i, 5+6*i)
		all = append(all, homes.Home{Name: name, Index: kept(t, lex, notes), Query: q})
		page, err := all[i].Index.Find(context.Background(), index.Query{Words: q.Words, Limit: 100})
		if err != nil {
			t.Fatal(err)
		}
		for _, h := range page.Hits {
			want = append(want, at{name + " " + h.Note.ID, h.Note.Time})
		}
	}
	slices.SortFunc(want, func(a, b at) int { return a.time.Compare(b.time) })
	var oldest []string
	for _, w := range want {
		oldest = append(oldest, w.name)
	}
	newest := slices.Clone(oldest)
	slices.Reverse(newest)
	for _, limit := range []int{1, 2, 7, 100} {
		if diff := cmp.Diff(oldest, ask(t, all, index.ByTime, limit)); diff != "" {
			t.Errorf("by time, %d a page (-want +got)\n%s", limit, diff)
		}
		if diff := cmp.Diff(newest, ask(t, all, index.ByNewest, limit)); diff != "" {
			t.Errorf("newest, %d a page (-want +got)\n%s", limit, diff)
		}
	}
	best := ask(t, all, index.ByRelevance, 100)
	for _, limit := range []int{1, 3} {
		if diff := cmp.Diff(best, ask(t, all, index.ByRelevance, limit)); diff != "" {
			t.Errorf("by relevance, %d a page (-want +got)\n%s", limit, diff)
		}
	}
	slices.Sort(best)
	slices.Sort(oldest)
	if diff := cmp.Diff(oldest, best); diff != "" {
		t.Errorf("by relevance (-want +got)\n%s", diff)
	}

	page, _, err := homes.Find(context.Background(), all, homes.Ask{Order: index.ByRelevance, Limit: 100})
	if err != nil {
		t.Fatal(err)
	}
	for i := range page.Hits[1:] {
		if page.Hits[i].Score < page.Hits[i+1].Score {
			t.Errorf("hit %d scores %g, and the next %g", i, page.Hits[i].Score, page.Hits[i+1].Score)
		}
	}
	units := []index.Count{{Value: "Elm / Fir", Notes: 11}, {Value: "Birch / Fir", Notes: 6}, {Value: "Ash / Fir", Notes: 3}}
	if diff := cmp.Diff(units, page.Facets["unit"]); diff != "" {
		t.Errorf("counts of units (-want +got)\n%s", diff)
	}
}

// broken is a home that fails with an error.
type broken struct{ err error }

func (b broken) Find(context.Context, index.Query) (index.Page, error) { return index.Page{}, b.err }

func TestFindFailures(t *testing.T) {
	lex, err := lexicon.New()
	if err != nil {
		t.Fatal(err)
	}
	whole := homes.Home{Name: "Ash", Index: kept(t, lex, invented(0, 5)), Query: index.Query{Unit: "Fir"}}
	lost := errors.New("the disk is gone")
	stranger := &index.UnknownError{What: "unit", Value: "Fir"}
	near := &index.UnknownError{What: "unit", Value: "Fir", Nearest: "Fur"}
	for _, c := range []struct {
		name   string
		homes  []homes.Home
		total  int
		failed []string
		err    error
	}{
		{"one cannot answer", []homes.Home{{Name: "Elm", Index: broken{lost}}, whole}, 5, []string{"Elm"}, nil},
		{"one has no such unit", []homes.Home{{Name: "Elm", Index: broken{stranger}}, whole}, 5, nil, nil},
		{"none has it", []homes.Home{{Name: "Elm", Index: broken{stranger}}, {Name: "Oak", Index: broken{near}}}, 0, nil, near},
		{"none can answer", []homes.Home{{Name: "Elm", Index: broken{lost}}}, 0, []string{"Elm"}, nil},
		{"the question is wrong", []homes.Home{whole, {Name: "Elm", Index: broken{&index.TooMuchError{}}}}, 0, nil, &index.TooMuchError{}},
	} {
		page, failed, err := homes.Find(context.Background(), c.homes, homes.Ask{Limit: 10})
		var names []string
		for _, f := range failed {
			names = append(names, f.Home)
		}
		if page.Total != c.total || !slices.Equal(names, c.failed) || fmt.Sprint(err) != fmt.Sprint(c.err) {
			t.Errorf("%s: found %d, failed %v, error %v; want %d, %v, %v", c.name, page.Total, names, err, c.total, c.failed, c.err)
		}
	}
	for _, mark := range []string{"x", "bnVsbA", "eyJFbG0iOiIifQ"} { // nonsense, null, {"Elm":""}
		if _, _, err := homes.Find(context.Background(), []homes.Home{whole}, homes.Ask{Limit: 1, After: mark}); !errors.Is(err, index.ErrAfter) {
			t.Errorf("after %q: %v, want ErrAfter", mark, err)
		}
	}
}
