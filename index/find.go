package index

import (
	"context"
	"errors"
	"slices"
	"strings"
	"time"

	"github.com/blevesearch/bleve/v2"
	"github.com/blevesearch/bleve/v2/search"
	"github.com/blevesearch/bleve/v2/search/query"
	bleveindex "github.com/blevesearch/bleve_index_api"

	"example.com/stance/index/internal/terms"
	"example.com/stance/lexicon"
)

const defaultLimit = 20

// Find finds notes. What a killed writer left undone is done first. It waits a few seconds for a writer
// that runs, and then gives a *LockedError. A value of the query that does not exist is an *UnknownError,
// and more words than are looked for at once are a *TooMuchError.
func (x *Index) Find(ctx context.Context, q Query) (page Page, err error) {
	if err := checkWords(x.cutter, q.Words); err != nil {
		return Page{}, err
	}
	v := vocabOf(x.lex)
	asks, err := v.asked(&q)
	if err != nil {
		return Page{}, err
	}
	if orders := []string{ByRelevance, ByTime, ByNewest}; q.Order != "" && !slices.Contains(orders, q.Order) {
		return Page{}, unknown("order", q.Order, orders)
	}
	if q.Limit <= 0 {
		q.Limit = defaultLimit
	}
	l, s, err := x.open(ctx)
	if err != nil {
		return Page{}, err
	}
	defer func() { err = errors.Join(err, s.close(), l.Close()) }()
	start, err := startAfter(q, l.Generation())
	if err != nil {
		return Page{}, err
	}
	advanced, err := s.index.Advanced()
	if err != nil {
		return Page{}, err
	}
	reader, err := advanced.Reader()
	if err != nil {
		return Page{}, err
	}
	defer func() { err = errors.Join(err, reader.Close()) }()

	words := wordReader{lex: x.lex, cutter: x.cutter, vocab: v, reader: reader, ledger: l}
	want, err := words.read(ctx, q.Words)
	if err != nil {
		return Page{}, err
	}
	f := finder{index: x, q: &q, asks: asks, want: want, ledger: l, reader: reader}
	request, err := f.request(&start)
	if err != nil {
		return Page{}, err
	}
	var counts counter
	result, err := s.index.SearchInContext(counts.watch(ctx), request)
	if err != nil {
		return Page{}, err
	}
	return f.page(ctx, result, counts.facets, &start)
}

// A finder is one search under way.
type finder struct {
	index  *Index
	q      *Query
	asks   []*terms.Ask // alternatives; none: no fact is asked for
	want   *wanted
	ledger *ledger
	reader bleveindex.IndexReader
	marked bool // a hit may have rules, or be replaced
}

func (f *finder) request(start *after) (*bleve.SearchRequest, error) {
	filters, err := f.filters()
	if err != nil {
		return nil, err
	}
	// bleve takes a part of a boolean query that finds nothing for one that is not there, so all is put
	// together by conjunctions, which do not.
	what := f.want.query
	switch {
	case len(filters) == 0 && what == nil:
		what = bleve.NewMatchAllQuery()
	case what == nil:
		what = bleve.NewConjunctionQuery(filters...)
	case len(filters) > 0:
		what = bleve.NewConjunctionQuery(what, constant{bleve.NewConjunctionQuery(filters...), 0})
	}
	// One more than is shown tells whether there is another page.
	request := bleve.NewSearchRequestOptions(what, f.q.Limit+1, 0, false)
	order := &search.SortField{Field: orderField, Type: search.SortFieldAsString, Desc: f.q.Order != ByTime}
	if f.timed() {
		request.SortByCustom(search.SortOrder{order})
		request.Score = "none"
		request.SearchAfter = start.Last
	} else {
		request.Size += len(start.Shown)
		request.SortByCustom(search.SortOrder{&search.SortScore{Desc: true}, order})
		if f.want.query == nil { // nothing to score by, and sets are far quicker
			request.Score = "none"
		}
	}
	return request, nil
}

func (f *finder) timed() bool { return f.q.Order == ByTime || f.q.Order == ByNewest }

// filters are what notes have to meet without its telling which is the better answer.
func (f *finder) filters() ([]query.Query, error) {
	var all []query.Query
	if !f.q.Earlier {
		all = append(all, inField(stateField, latestState))
	}
	if len(f.asks) > 0 {
		var facts []string
		for _, a := range f.asks {
			now, rest := a.Terms()
			facts = append(append(facts, now...), rest...)
		}
		all = append(all, anyFact(facts))
	}
	for _, exact := range []struct {
		field, value string
		known        []string // even where no note has them
	}{
		{residentField, f.q.Resident, nil},
		{unitField, f.q.Unit, nil},
		{shiftField, f.q.Shift, []string{"day", "evening", "night"}},
		{roleField, f.q.Role, []string{string(lexicon.CareWorker), string(lexicon.Nurse), string(lexicon.Therapist), string(lexicon.Doctor), string(lexicon.OtherRole)}},
	} {
		if exact.value == "" {
			continue
		}
		term, err := f.resolve(exact.field, exact.value, exact.known)
		if err != nil {
			return nil, err
		}
		all = append(all, inField(exact.field, term))
	}
	if f.q.Rule != "" {
		all = append(all, inField(ruleField, f.q.Rule))
	}
	if r := timeRange(f.q.Since, f.q.Until); r != nil {
		all = append(all, r)
	}
	return all, nil
}

// resolve is the value that the index has for one that was typed, in whatever case.
func (f *finder) resolve(field, value string, known []string) (string, error) {
	dict, err := f.reader.FieldDict(field)
	if err != nil {
		return "", err
	}
	defer dict.Close()
	folded := ""
	for {
		e, err := dict.Next()
		if err != nil {
			return "", err
		}
		if e == nil {
			break
		}
		if e.Term == value {
			return value, nil
		}
		if folded == "" && strings.EqualFold(e.Term, value) {
			folded = e.Term
		}
		known = append(known, e.Term)
	}
	for _, k := range known {
		if folded == "" && strings.EqualFold(k, value) {
			folded = k
		}
	}
	if folded == "" {
		return "", unknown(field, value, known)
	}
	return folded, nil
}

// timeRange is the query for times from since and before until; nil without bounds. Whole days are
// looked for as such, so that a long range has few terms.
func timeRange(since, until time.Time) query.Query {
	if since.IsZero() && until.IsZero() {
		return nil
	}
	within := func(field, from, to string) query.Query {
		q := bleve.NewTermRangeQuery(from, to)
		q.SetField(field)
		return q
	}
	from, to := "", ""
	if !since.IsZero() {
		from = timeTerm(roundUp(since))
	}
	if !until.IsZero() {
		to = timeTerm(roundUp(until))
	}
	firstDay, lastDay := dayOf(since)+1, dayOf(until) // whole days, the last one out
	switch {
	case from != "" && to != "" && firstDay >= lastDay:
		return within(orderField, from, max(from, to))
	case to == "":
		return bleve.NewDisjunctionQuery(
			within(orderField, from, timeTerm(startOf(firstDay))), within(dayField, dayTerm(firstDay), ""))
	case from == "":
		return bleve.NewDisjunctionQuery(
			within(dayField, "", dayTerm(lastDay)), within(orderField, timeTerm(startOf(lastDay)), to))
	}
	return bleve.NewDisjunctionQuery(
		within(orderField, from, timeTerm(startOf(firstDay))),
		within(dayField, dayTerm(firstDay), dayTerm(lastDay)),
		within(orderField, timeTerm(startOf(lastDay)), to))
}

// roundUp is the first whole second from t on: terms are of whole seconds.
func roundUp(t time.Time) time.Time {
	if t.Nanosecond() > 0 {
		return t.Truncate(time.Second).Add(time.Second)
	}
	return t
}

func startOf(day int64) time.Time { return time.Unix(day*secondsOfDay, 0) }

func (f *finder) page(ctx context.Context, result *bleve.SearchResult, counts map[string][]Count, start *after) (Page, error) {
	page := Page{Total: int(result.Total), Facets: counts, start: *start, timed: f.timed(), given: f.q.After}
	f.marked = f.q.Earlier || len(page.Facets[ruleField]) > 0
	shown := map[address]bool{}
	for _, at := range start.Shown {
		shown[at] = true
	}
	for _, match := range result.Hits {
		at, err := parseDocID(match.ID)
		if err != nil {
			return Page{}, err
		}
		if shown[at] {
			continue
		}
		if len(page.Hits) == f.q.Limit {
			page.Next = page.After(f.q.Limit)
			break
		}
		if err := ctx.Err(); err != nil {
			return Page{}, err
		}
		hit, err := f.hit(match, at)
		if err != nil {
			return Page{}, err
		}
		page.Hits = append(page.Hits, hit)
		page.steps = append(page.steps, step{at, match.Sort})
	}
	return page, nil
}

func (f *finder) hit(match *search.DocumentMatch, at address) (Hit, error) {
	item, err := f.ledger.read(at)
	if err != nil {
		return Hit{}, err
	}
	v, err := parseVersion(item)
	if err != nil {
		return Hit{}, err
	}
	h := Hit{Note: v.note, Score: match.Score, Kept: v.kept}
	statements := f.index.lex.Read(v.note.Text, v.note.Role).Statements
	want := *f.want
	want.asks = append(slices.Clip(want.asks), f.asks...)
	for i := range statements {
		answers := func(a *terms.Ask) bool { return a.Meets(&statements[i]) }
		if len(f.asks) == 0 || slices.ContainsFunc(f.asks, answers) {
			h.Statements = append(h.Statements, statements[i])
		}
	}
	h.Spans = want.spans(v.note.Text, statements, f.index.cutter.Words(v.note.Text))
	if !f.marked {
		return h, nil
	}
	return h, f.marks(match.ID, &h)
}

// marks finds what was set for a note after it was kept.
func (f *finder) marks(docID string, h *Hit) error {
	id, err := f.reader.InternalID(docID)
	if err != nil {
		return err
	}
	values, err := f.reader.DocValueReader([]string{ruleField, stateField})
	if err != nil {
		return err
	}
	err = values.VisitDocValues(id, func(field string, term []byte) {
		switch field {
		case ruleField:
			h.Rules = append(h.Rules, string(term))
		case stateField:
			h.Replaced, h.Withdrawn = string(term) == replacedState, string(term) == goneState
		}
	})
	slices.Sort(h.Rules)
	return err
}
