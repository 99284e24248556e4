package index

import (
	"context"

	"github.com/blevesearch/bleve/v2"
	"github.com/blevesearch/bleve/v2/mapping"
	"github.com/blevesearch/bleve/v2/search"
	"github.com/blevesearch/bleve/v2/search/query"
	bleveindex "github.com/blevesearch/bleve_index_api"

	"example.com/stance/index/internal/terms"
)

// A phrase finds notes that have words next to each other. Those that have all of them are looked up in
// the ledger, because the search part knows no positions.
type phrase struct {
	stems  []string
	cutter *terms.Cutter
	ledger *ledger
}

func (p phrase) Searcher(ctx context.Context, r bleveindex.IndexReader, m mapping.IndexMapping, opt search.SearcherOptions) (search.Searcher, error) {
	all := make([]query.Query, len(p.stems))
	for i, stem := range p.stems {
		all[i] = inText(stem)
	}
	inner, err := bleve.NewConjunctionQuery(all...).Searcher(ctx, r, m, opt)
	if err != nil {
		return nil, err
	}
	return &phraseSearcher{inner, p, r}, nil
}

type phraseSearcher struct {
	search.Searcher
	phrase phrase
	reader bleveindex.IndexReader
}

func (s *phraseSearcher) Next(ctx *search.SearchContext) (*search.DocumentMatch, error) {
	d, err := s.Searcher.Next(ctx)
	return s.firstGood(ctx, d, err)
}

func (s *phraseSearcher) Advance(ctx *search.SearchContext, id bleveindex.IndexInternalID) (*search.DocumentMatch, error) {
	d, err := s.Searcher.Advance(ctx, id)
	return s.firstGood(ctx, d, err)
}

// firstGood is d or the next one after it that has the phrase.
func (s *phraseSearcher) firstGood(ctx *search.SearchContext, d *search.DocumentMatch, err error) (*search.DocumentMatch, error) {
	for err == nil && d != nil {
		var good bool
		if good, err = s.good(d.IndexInternalID); good || err != nil {
			break
		}
		ctx.DocumentMatchPool.Put(d)
		d, err = s.Searcher.Next(ctx)
	}
	return d, err
}

func (s *phraseSearcher) good(id bleveindex.IndexInternalID) (bool, error) {
	docID, err := s.reader.ExternalID(id)
	if err != nil {
		return false, err
	}
	at, err := parseDocID(docID)
	if err != nil {
		return false, err
	}
	item, err := s.phrase.ledger.read(at)
	if err != nil {
		return false, err
	}
	v, err := parseVersion(item)
	if err != nil {
		return false, err
	}
	words := s.phrase.cutter.Words(v.note.Text)
	for i := range words {
		if begins(words[i:], s.phrase.stems) {
			return true, nil
		}
	}
	return false, nil
}
