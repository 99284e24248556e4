// Package homes searches the indexes of several homes as one.
//
// [Find] asks each home and puts the answers together. It opens no index and knows no policy: who calls it gives each
// home its own [index.Index] and its own [index.Query], because homes have their own words, zones and shifts. A home
// that cannot answer keeps no other from answering.
package homes

import (
	"cmp"
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"maps"
	"runtime"
	"slices"
	"strings"

	"golang.org/x/sync/errgroup"

	"example.com/stance/index"
)

// A Home is an index and what it is asked.
type Home struct {
	Name  string // no two homes have one name
	Index Finder
	Query index.Query // Order, Limit and After are taken from the Ask
}

// A Finder answers queries; *index.Index is one.
type Finder interface {
	Find(context.Context, index.Query) (index.Page, error)
}

// An Ask is what is asked of all homes together.
type Ask struct {
	Order string // of index.Query
	Limit int    // most hits of a page, above 0
	After string // Next of the page before
}

// A Hit is a found note and the home that has it.
type Hit struct {
	Home string
	index.Hit
}

// A Page is one page of what was found in all homes that answered.
type Page struct {
	Total int
	Hits  []Hit

	// Facets are those of index.Page, and by home. Residents and units are a home's own, so they are counted
	// under their [Label].
	Facets map[string][]index.Count
	Next   string // for Ask.After; empty on the last page
}

// A Failure is a home that could not answer.
type Failure struct {
	Home string
	Err  error
}

// Label is the name of a home's resident or unit among those of other homes.
func Label(home, name string) string {
	if name == "" {
		return home
	}
	return home + " / " + name
}

// Find asks all homes. By relevance, scores are each home's own: a word is worth the more the rarer it is in that home.
// Of equal scores the later note comes first, and of what is still equal the home that is given first.
//
// A resident, unit, concept or aid that only some homes know finds nothing in the others; the error is an
// *index.UnknownError where none knows it. Other errors of a home are among the failures, and all are where every
// home failed.
func Find(ctx context.Context, homes []Home, ask Ask) (Page, []Failure, error) {
	after, err := marks(homes, ask.After)
	if err != nil {
		return Page{}, nil, err
	}
	pages, errs := make([]index.Page, len(homes)), make([]error, len(homes))
	group, _ := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i, h := range homes {
		group.Go(func() error {
			q := h.Query
			q.Order, q.Limit, q.After = ask.Order, ask.Limit, after[h.Name]
			pages[i], errs[i] = h.Index.Find(ctx, q)
			return nil
		})
	}
	_ = group.Wait() // the errors are the homes'
	if err := ctx.Err(); err != nil {
		return Page{}, nil, err
	}

	var failed []Failure
	var unknown *index.UnknownError
	answered := make([]bool, len(homes))
	known := false
	for i, err := range errs {
		var no *index.UnknownError
		var tooMuch *index.TooMuchError
		switch {
		case err == nil:
			answered[i], known = true, true
		case errors.Is(err, index.ErrAfter), errors.As(err, &tooMuch):
			return Page{}, nil, err // the question's own fault
		case errors.As(err, &no):
			answered[i] = true
			if unknown == nil || unknown.Nearest == "" {
				unknown = no
			}
		default:
			failed = append(failed, Failure{homes[i].Name, err})
		}
	}
	if unknown != nil && !known {
		return Page{}, failed, unknown
	}
	return merged(homes, answered, pages, ask, after), failed, nil
}

// merged puts the pages of the homes that answered together.
func merged(homes []Home, answered []bool, pages []index.Page, ask Ask, after map[string]string) Page {
	out := Page{Facets: map[string][]index.Count{"home": {}}}
	counts := map[string]map[string]int{"home": {}}
	hits, more := 0, false
	for i, p := range pages {
		if !answered[i] {
			continue
		}
		out.Total += p.Total
		more = more || p.Next != ""
		hits += len(p.Hits)
		if p.Total > 0 {
			counts["home"][homes[i].Name] = p.Total
		}
		for kind, all := range p.Facets {
			if counts[kind] == nil {
				counts[kind] = map[string]int{}
			}
			for _, c := range all {
				value := c.Value
				if kind == "resident" || kind == "unit" {
					value = Label(homes[i].Name, value)
				}
				counts[kind][value] += c.Notes
			}
		}
	}
	// Each home's hits are in order, so the next of all is the first of one of them.
	shown := make([]int, len(homes))
	for len(out.Hits) < min(hits, ask.Limit) {
		first := -1
		for i, p := range pages {
			if shown[i] < len(p.Hits) && (first < 0 || before(&p.Hits[shown[i]], &pages[first].Hits[shown[first]], ask.Order)) {
				first = i
			}
		}
		out.Hits = append(out.Hits, Hit{homes[first].Name, pages[first].Hits[shown[first]]})
		shown[first]++
	}
	more = more || hits > len(out.Hits)
	for kind, values := range counts {
		out.Facets[kind] = sorted(values)
	}
	if !more {
		return out
	}
	next := maps.Clone(after) // a home that failed goes on where it was
	for i, h := range homes {
		if answered[i] {
			next[h.Name] = pages[i].After(shown[i])
		}
	}
	b, err := json.Marshal(next)
	if err != nil {
		panic(err) // strings
	}
	out.Next = base64.RawURLEncoding.EncodeToString(b)
	return out
}

// before reports whether a hit comes before one of a home that stands before its own.
func before(a, b *index.Hit, order string) bool {
	older := a.Note.Time.Compare(b.Note.Time)
	switch order {
	case index.ByTime:
		return older < 0
	case index.ByNewest:
		return older > 0
	}
	return a.Score > b.Score || a.Score == b.Score && older > 0
}

// marks reads the mark of a page: the home's own marks, by home.
func marks(homes []Home, mark string) (map[string]string, error) {
	after := map[string]string{}
	if mark == "" {
		return after, nil
	}
	b, err := base64.RawURLEncoding.DecodeString(mark)
	if err != nil || json.Unmarshal(b, &after) != nil || after == nil {
		return nil, index.ErrAfter
	}
	for name := range after {
		if !slices.ContainsFunc(homes, func(h Home) bool { return h.Name == name }) {
			return nil, index.ErrAfter
		}
	}
	return after, nil
}

// sorted are counts, most first.
func sorted(counts map[string]int) []index.Count {
	all := make([]index.Count, 0, len(counts))
	for value, n := range counts {
		all = append(all, index.Count{Value: value, Notes: n})
	}
	slices.SortFunc(all, func(a, b index.Count) int {
		return cmp.Or(b.Notes-a.Notes, strings.Compare(a.Value, b.Value))
	})
	return all
}
