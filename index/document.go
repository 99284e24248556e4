package index

import (
	"fmt"
	"runtime"
	"strconv"
	"time"

	"github.com/blevesearch/bleve/v2/analysis"
	"github.com/blevesearch/bleve/v2/document"
	bleveindex "github.com/blevesearch/bleve_index_api"
	"golang.org/x/sync/errgroup"

	"example.com/stance/index/internal/terms"
)

// The fields of a document.
const (
	textField    = "text"
	factField    = "fact" // see terms.Facts
	conceptField = "concept"
	ruleField    = "rule"
	residentName = "resident"
	unitName     = "unit"
	roleName     = "role"
	shiftName    = "shift"
	timeField    = "time"  // see timeTerm
	dayField     = "day"   // first part of the time
	stateField   = "state" // one of the two below

	latestTerm   = "latest"
	replacedTerm = "replaced"
)

// facetFields are the fields by which found notes are counted.
func facetFields() []string {
	return []string{residentName, unitName, roleName, shiftName, conceptField, ruleField}
}

// An entry is what the search part has to know of a version.
type entry struct {
	at       int64 // offset in the journal
	version  version
	rules    []string
	replaced bool
}

// docID names a document by the offset of its version, so that ids sort as the journal does.
func docID(at int64) string { return fmt.Sprintf("%010x", at) }

func offsetOf(docID string) (int64, error) { return strconv.ParseInt(docID, 16, 64) }

// timeTerm writes a time so that terms sort as times do. The first ten bytes are the day.
func timeTerm(t time.Time) string { return t.UTC().Format("2006-01-02T15:04:05.999999999") }

const dayLength = len("2006-01-02")

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
	add := func(name string, options bleveindex.FieldIndexingOptions, values ...string) {
		if len(values) > 0 && values[0] != "" {
			addTokens(d, name, options, tokens(values))
		}
	}
	// Positions make phrases findable. Places in the text are left out: they are found again in the few
	// notes that are shown.
	text := b.cutter.Tokens(n.Text)
	for _, t := range text {
		t.Start, t.End = 0, 0
	}
	addTokens(d, textField, bleveindex.IndexField|bleveindex.IncludeTermVectors, text)

	const plain = bleveindex.IndexField | bleveindex.SkipFreqNorm
	const counted = plain | bleveindex.DocValues
	add(factField, plain, terms.Facts(statements)...)
	add(conceptField, counted, terms.Said(statements)...)
	add(ruleField, counted, e.rules...)
	add(residentName, counted, n.Resident)
	add(unitName, counted, n.Unit)
	add(roleName, counted, string(n.Role))
	add(shiftName, counted, e.version.shift)
	when := timeTerm(n.Time)
	add(timeField, counted, when)
	add(dayField, plain, when[:dayLength])
	state := latestTerm
	if e.replaced {
		state = replacedTerm
	}
	add(stateField, counted, state)
	return d
}

func addTokens(d *document.Document, name string, options bleveindex.FieldIndexingOptions, ts analysis.TokenStream) {
	d.AddField(document.NewTextFieldCustom(name, nil, nil, options, ready(ts)))
}

// ready is an analyzer whose work is done.
type ready analysis.TokenStream

func (r ready) Analyze([]byte) analysis.TokenStream { return analysis.TokenStream(r) }

func tokens(values []string) analysis.TokenStream {
	block := make([]analysis.Token, len(values))
	ts := make(analysis.TokenStream, len(values))
	for i, v := range values {
		block[i] = analysis.Token{Term: []byte(v), Position: i + 1}
		ts[i] = &block[i]
	}
	return ts
}
