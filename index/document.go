package index

import (
	"fmt"
	"runtime"
	"strconv"
	"strings"
	"time"

	"github.com/blevesearch/bleve/v2/analysis"
	"github.com/blevesearch/bleve/v2/document"
	bleveindex "github.com/blevesearch/bleve_index_api"
	"golang.org/x/sync/errgroup"

	"example.com/stance/index/internal/terms"
)

// The fields of a document.
const (
	textField     = "text"
	factField     = "fact" // see terms.Facts
	residentField = "resident"
	unitField     = "unit"
	roleField     = "role"
	shiftField    = "shift"
	conceptField  = "concept" // see terms.Said
	ruleField     = "rule"
	stateField    = "state" // one of the three below
	orderField    = "order" // see orderTerm
	dayField      = "day"   // see dayTerm

	latestState   = "latest"
	replacedState = "replaced"
	goneState     = "withdrawn"
)

// facetNames are the fields that found notes are counted by.
func facetNames() []string {
	return []string{residentField, unitField, roleField, shiftField, conceptField, ruleField}
}

// An entry is what the search part has to know of a version.
type entry struct {
	at       address
	version  version
	rules    []string
	replaced bool
	gone     bool // the note was withdrawn since this version, which is its latest
}

// docID names a document by the address of its version, so that ids sort as the ledger does.
func docID(at address) string { return fmt.Sprintf("%012x", int64(at)) }

func parseDocID(id string) (address, error) {
	at, err := strconv.ParseInt(id, 16, 64)
	return address(at), err
}

// orderTerm is what a version is sorted by: its time, then where it is in the ledger, so that no two are
// alike. The resident stands behind, because bleve unpacks the values of a thousand notes for each field
// that it reads of the notes found, and so counting residents comes with sorting.
func orderTerm(t time.Time, at address, resident string) string {
	return timeTerm(t) + digits(addressDigits, int64(at)) + resident
}

// residentOfOrder is the resident of an orderTerm.
func residentOfOrder(term string) string { return term[min(timeDigits+addressDigits, len(term)):] }

const (
	timeDigits    = 7 // to base 36, enough for some two thousand years
	addressDigits = 8 // enough for a ledger of 80 GB
)

// timeTerm writes a time in seconds since 1970, so that terms sort as times do. Earlier times count
// as 1970.
func timeTerm(t time.Time) string { return digits(timeDigits, max(0, t.Unix())) }

// dayTerm writes a day, in days since 1970.
func dayTerm(day int64) string { return digits(4, day) }

// dayOf is the day of a time, in UTC.
func dayOf(t time.Time) int64 { return max(0, t.Unix()) / secondsOfDay }

const secondsOfDay = 24 * 60 * 60

// digits writes n to base 36, in so many digits.
func digits(width int, n int64) string {
	s := strconv.FormatInt(n, 36)
	return strings.Repeat("0", max(0, width-len(s))) + s
}

// A builder makes documents. It is safe for concurrent use.
type builder struct {
	lex    Reader
	cutter *terms.Cutter
}

// documents makes the documents of entries, on all processors.
func (b *builder) documents(entries []entry) []*document.Document {
	docs := make([]*document.Document, len(entries))
	var group errgroup.Group
	const stride = 64
	group.SetLimit(runtime.GOMAXPROCS(0))
	for from := 0; from < len(entries); from += stride {
		group.Go(func() error {
			for i := from; i < min(from+stride, len(entries)); i++ {
				docs[i] = b.document(&entries[i])
			}
			return nil
		})
	}
	group.Wait() // no error is made
	return docs
}

func (b *builder) document(e *entry) *document.Document {
	n := &e.version.note
	statements := b.lex.Read(n.Text, n.Role).Statements
	d := document.NewDocument(docID(e.at))
	// No positions: they would take as much room as all the rest. Phrases are looked up in the notes.
	addTokens(d, textField, bleveindex.IndexField, b.cutter.Tokens(n.Text))

	const plain = bleveindex.IndexField | bleveindex.SkipFreqNorm
	// The options that leave values unpacked make zapx 17.2.5 give wrong values or panic.
	const listed = plain | bleveindex.DocValues
	state := latestState
	switch {
	case e.replaced:
		state = replacedState
	case e.gone:
		state = goneState
	}
	addValues(d, factField, plain, terms.Facts(statements)...)
	addValues(d, residentField, plain, n.Resident)
	addValues(d, unitField, plain, n.Unit)
	addValues(d, roleField, plain, string(n.Role))
	addValues(d, shiftField, plain, e.version.shift)
	addValues(d, conceptField, plain, terms.Said(statements)...)
	addValues(d, ruleField, listed, e.rules...)
	addValues(d, stateField, listed, state)
	addValues(d, orderField, listed, orderTerm(n.Time, e.at, n.Resident))
	addValues(d, dayField, plain, dayTerm(dayOf(n.Time)))
	return d
}

// addValues adds a field with values; an empty one is none.
func addValues(d *document.Document, name string, options bleveindex.FieldIndexingOptions, values ...string) {
	if ts := tokens(values); len(ts) > 0 {
		addTokens(d, name, options, ts)
	}
}

func addTokens(d *document.Document, name string, options bleveindex.FieldIndexingOptions, ts analysis.TokenStream) {
	d.AddField(document.NewTextFieldCustom(name, nil, nil, options, ready(ts)))
}

// ready is an analyzer whose work is done.
type ready analysis.TokenStream

func (r ready) Analyze([]byte) analysis.TokenStream { return analysis.TokenStream(r) }

func tokens(values []string) analysis.TokenStream {
	block := make([]analysis.Token, 0, len(values))
	ts := make(analysis.TokenStream, 0, len(values))
	for _, v := range values {
		if v != "" {
			block = append(block, analysis.Token{Term: []byte(v), Position: len(block) + 1})
			ts = append(ts, &block[len(block)-1])
		}
	}
	return ts
}
