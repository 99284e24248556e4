package index

import (
	"context"

	"github.com/blevesearch/bleve/v2/mapping"
	"github.com/blevesearch/bleve/v2/search"
	"github.com/blevesearch/bleve/v2/search/query"
	bleveindex "github.com/blevesearch/bleve_index_api"
)

// A constant gives every note that meets a query the same score. bleve would weigh an alternative by how
// many others are met too, and a fact by how rare it is; neither says how well a note answers.
type constant struct {
	query.Query
	score float64
}

func (q constant) Searcher(ctx context.Context, r bleveindex.IndexReader, m mapping.IndexMapping, opt search.SearcherOptions) (search.Searcher, error) {
	opt.Score = "none"
	inner, err := q.Query.Searcher(ctx, r, m, opt)
	if err != nil {
		return nil, err
	}
	return constantSearcher{inner, q.score}, nil
}

type constantSearcher struct {
	search.Searcher
	score float64
}

func (s constantSearcher) Next(ctx *search.SearchContext) (*search.DocumentMatch, error) {
	return s.scored(s.Searcher.Next(ctx))
}

func (s constantSearcher) Advance(ctx *search.SearchContext, id bleveindex.IndexInternalID) (*search.DocumentMatch, error) {
	return s.scored(s.Searcher.Advance(ctx, id))
}

func (s constantSearcher) scored(d *search.DocumentMatch, err error) (*search.DocumentMatch, error) {
	if d != nil {
		d.Score = s.score
	}
	return d, err
}

func (s constantSearcher) Weight() float64      { return 0 }
func (s constantSearcher) SetQueryNorm(float64) {}
