package index

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/RoaringBitmap/roaring/v2"
	"github.com/blevesearch/bleve/v2/index/scorch"
	"github.com/blevesearch/bleve/v2/search"
	"github.com/blevesearch/bleve/v2/search/collector"
	bleveindex "github.com/blevesearch/bleve_index_api"
)

// A counter counts what a search finds. A note has one resident, of many: these are counted note by note, by
// what notes are sorted by. All other values are few, and a note has a dozen: for each of them the notes
// that have it are laid over the notes found, which is far quicker than to unpack the values of each note.
type counter struct {
	found     []uint32 // numbers of the notes in the index, going up
	residents map[string]int
	facets    map[string][]Count // once all is found
}

// watch gives a context in which a search that sorts by orderField last tells the counter what it finds.
func (c *counter) watch(ctx context.Context) context.Context {
	c.residents = map[string]int{}
	return context.WithValue(ctx, search.MakeDocumentMatchHandlerKey, search.MakeDocumentMatchHandler(
		func(in *search.SearchContext) (search.DocumentMatchHandler, bool, error) {
			collect, loadID, err := collector.MakeTopNDocumentMatchHandler(in)
			if err != nil {
				return nil, false, err
			}
			return func(d *search.DocumentMatch) error {
				if d == nil { // the end
					return c.count(in.IndexReader)
				}
				c.found = append(c.found, uint32(d.IndexInternalID.Value()))
				c.residents[residentOfOrder(d.Sort[len(d.Sort)-1])]++
				return collect(d)
			}, loadID, nil
		}))
}

// count makes the facets.
func (c *counter) count(reader bleveindex.IndexReader) error {
	snapshot, ok := reader.(*scorch.IndexSnapshot)
	if !ok {
		return fmt.Errorf("the search part is a %T, want one made by this package", reader)
	}
	totals := map[string]map[string]int{}
	for _, name := range facetNames() {
		totals[name] = map[string]int{}
	}
	totals[residentField] = c.residents
	rest, first := c.found, uint32(0)
	for _, s := range snapshot.Segments() {
		size := uint32(s.FullSize())
		in, _ := slices.BinarySearch(rest, first+size)
		if in > 0 {
			if err := countIn(s, rest[:in], first, totals); err != nil {
				return err
			}
		}
		rest, first = rest[in:], first+size
	}
	c.facets = map[string][]Count{}
	for name, counts := range totals {
		c.facets[name] = sorted(counts)
	}
	return nil
}

// countIn adds the counts of the notes found in one segment of the index, whose numbers begin at first.
func countIn(s *scorch.SegmentSnapshot, found []uint32, first uint32, totals map[string]map[string]int) error {
	local := make([]uint32, len(found))
	for i, n := range found {
		local[i] = n - first
	}
	others := roaring.Flip(roaring.BitmapOf(local...), 0, uint64(s.FullSize()))
	for _, name := range facetNames() {
		if name == residentField {
			continue
		}
		dict, err := s.Segment().Dictionary(name)
		if err != nil {
			return err
		}
		for terms := dict.AutomatonIterator(nil, nil, nil); ; {
			t, err := terms.Next()
			if err != nil {
				return err
			}
			if t == nil {
				break
			}
			with, err := dict.PostingsList([]byte(t.Term), others, nil)
			if err != nil {
				return err
			}
			if n := with.Count(); n > 0 {
				totals[name][t.Term] += int(n)
			}
		}
	}
	return nil
}

// sorted are counts, most first.
func sorted(counts map[string]int) []Count {
	all := make([]Count, 0, len(counts))
	for value, n := range counts {
		all = append(all, Count{value, n})
	}
	slices.SortFunc(all, func(a, b Count) int {
		return cmp.Or(b.Notes-a.Notes, strings.Compare(a.Value, b.Value))
	})
	return all
}
