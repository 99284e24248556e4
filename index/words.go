package index

import (
	"context"
	"strings"
	"unicode"

	"github.com/blevesearch/bleve/v2"
	"github.com/blevesearch/bleve/v2/search/query"
	bleveindex "github.com/blevesearch/bleve_index_api"

	"example.com/stance/index/internal/terms"
	"example.com/stance/lexicon"
)

// A piece is a part of what a person typed to search for.
type piece struct {
	kind pieceKind
	text string
}

type pieceKind int

const (
	plainPiece  pieceKind = iota // words next to each other, read together
	phrasePiece                  // "in quotes"
	prefixPiece                  // begin*
	nearPiece                    // nearly~
)

// pieces takes apart what was typed. There is no wrong way to type: a quote that is not closed ends with
// the line.
func pieces(typed string) []piece {
	var all []piece
	plain := func(text string) {
		for _, word := range strings.Fields(text) {
			begin, isPrefix := strings.CutSuffix(word, "*")
			nearly, isNear := strings.CutSuffix(word, "~")
			switch last := len(all) - 1; {
			case isPrefix && begin != "":
				all = append(all, piece{prefixPiece, begin})
			case isNear && nearly != "":
				all = append(all, piece{nearPiece, nearly})
			case last >= 0 && all[last].kind == plainPiece:
				all[last].text += " " + word
			default:
				all = append(all, piece{plainPiece, word})
			}
		}
	}
	for i, part := range strings.Split(strings.Map(straight, typed), `"`) {
		if i%2 == 0 {
			plain(part)
		} else if strings.TrimSpace(part) != "" {
			all = append(all, piece{phrasePiece, part})
		}
	}
	return all
}

// straight makes the quotes that phones and word processors write plain ones.
func straight(r rune) rune {
	if unicode.In(r, unicode.Quotation_Mark) && r != '\'' && r != '’' && r != '‘' {
		return '"'
	}
	return r
}

// A wanted is what a query looks for in a text, for searching and for showing.
type wanted struct {
	query    query.Query // nil if it is nothing
	asks     []*terms.Ask
	stems    map[string]bool
	prefixes []string
	near     []string // one letter off these stems
	phrases  [][]string
}

// Scores of a note that says what is looked for, in whatever words: now and of the resident, or else.
// A word as it was typed scores about 1 to 4, so what is so now comes first, with the typed word before
// others, then the word in another connection, then other words in another connection.
const (
	saidNow  = 12
	saidElse = 0.5
)

// A wordReader turns what was typed into what is wanted.
type wordReader struct {
	lex    Reader
	cutter *terms.Cutter
	vocab  vocab
	reader bleveindex.IndexReader
	ledger *ledger
}

func (r *wordReader) read(ctx context.Context, typed string) (*wanted, error) {
	w := &wanted{stems: map[string]bool{}}
	var all []query.Query
	for _, p := range pieces(typed) {
		var qs []query.Query
		var err error
		switch p.kind {
		case phrasePiece:
			qs = r.phrase(w, p.text)
		case prefixPiece:
			qs = r.prefix(w, p.text)
		case nearPiece:
			qs = r.near(w, p.text)
		default:
			qs, err = r.plain(ctx, w, p.text)
		}
		if err != nil {
			return nil, err
		}
		all = append(all, qs...)
	}
	switch {
	case len(all) == 1:
		w.query = all[0]
	case len(all) > 1:
		w.query = bleve.NewConjunctionQuery(all...)
	case strings.TrimSpace(typed) != "": // signs alone, which no note has as a word
		w.query = bleve.NewMatchNoneQuery()
	}
	return w, nil
}

func (r *wordReader) phrase(w *wanted, text string) []query.Query {
	var stems []string
	for _, word := range r.cutter.Words(text) {
		stems = append(stems, word.Term)
	}
	switch len(stems) {
	case 0:
		return nil
	case 1:
		w.stems[stems[0]] = true
		return []query.Query{inText(stems[0])}
	}
	w.phrases = append(w.phrases, stems)
	return []query.Query{phrase{stems, r.cutter, r.ledger}}
}

// prefix looks for words that begin so. Texts are found by stems, which may be shorter than what was
// typed: "walking*" is to find "walking".
func (r *wordReader) prefix(w *wanted, text string) []query.Query {
	var qs []query.Query
	words := r.cutter.Words(text)
	for i, word := range words {
		if i < len(words)-1 {
			w.stems[word.Term] = true
			qs = append(qs, inText(word.Term))
			continue
		}
		w.stems[word.Term] = true
		w.prefixes = append(w.prefixes, word.Plain)
		begins := bleve.NewPrefixQuery(word.Plain)
		begins.SetField(textField)
		qs = append(qs, constant{bleve.NewDisjunctionQuery(begins, inText(word.Term)), 1})
	}
	return qs
}

func (r *wordReader) near(w *wanted, text string) []query.Query {
	var qs []query.Query
	for _, word := range r.cutter.Words(text) {
		w.near = append(w.near, word.Term)
		qs = append(qs, nearText(word.Term))
	}
	return qs
}

// plain looks for all words of a text. What the lexicon reads in it is also looked for by what it says.
func (r *wordReader) plain(ctx context.Context, w *wanted, text string) ([]query.Query, error) {
	words := r.cutter.Words(text)
	said := make([]int, len(words)) // number of the statement of each word, from 1; 0 for none
	statements := r.lex.Read(text, lexicon.CareWorker).Statements
	for i := range statements {
		for _, at := range coveredBy(&statements[i], words) {
			if said[at] == 0 {
				said[at] = i + 1
			}
		}
	}
	var qs []query.Query
	for i := range statements {
		var typed []query.Query
		for at, word := range words {
			if said[at] == i+1 {
				w.stems[word.Term] = true
				typed = append(typed, inText(word.Term))
			}
		}
		if len(typed) == 0 {
			continue // all its words are another's
		}
		ask := r.vocab.meant(&statements[i])
		w.asks = append(w.asks, ask)
		now, rest := ask.Terms()
		qs = append(qs, bleve.NewDisjunctionQuery(
			constant{anyFact(now), saidNow}, constant{anyFact(rest), saidElse}, bleve.NewConjunctionQuery(typed...)))
	}
	onlySmall := len(qs) == 0
	for at, word := range words {
		onlySmall = onlySmall && (said[at] != 0 || r.cutter.Small(word.Plain))
	}
	for at, word := range words {
		if said[at] != 0 || !onlySmall && r.cutter.Small(word.Plain) {
			continue
		}
		known, err := r.has(ctx, word.Term)
		if err != nil {
			return nil, err
		}
		if known || len(word.Term) < shortestNear {
			w.stems[word.Term] = true
			qs = append(qs, inText(word.Term))
		} else {
			w.near = append(w.near, word.Term)
			qs = append(qs, nearText(word.Term))
		}
	}
	return qs, nil
}

// shortestNear is the least letters of a word that is taken as one letter off unasked. Shorter ones are
// one letter off too many others.
const shortestNear = 4

// coveredBy are the words from which a statement was read.
func coveredBy(s *lexicon.Statement, words []terms.Word) []int {
	var at []int
	for i, word := range words {
		span := lexicon.Span{Start: word.Start, End: word.End}
		covered := s.Detail.Head.Overlaps(span)
		for _, m := range s.Detail.Terms {
			covered = covered || m.Field != "time" && m.Field != "who" && m.Span.Overlaps(span)
		}
		if covered {
			at = append(at, i)
		}
	}
	return at
}

// has reports whether any note has a word.
func (r *wordReader) has(ctx context.Context, stem string) (bool, error) {
	terms, err := r.reader.TermFieldReader(ctx, []byte(stem), textField, false, false, false)
	if err != nil {
		return false, err
	}
	defer terms.Close()
	return terms.Count() > 0, nil
}

func inText(stem string) query.Query { return inField(textField, stem) }

func inField(field, term string) query.Query {
	q := bleve.NewTermQuery(term)
	q.SetField(field)
	return q
}

func nearText(stem string) query.Query {
	q := bleve.NewFuzzyQuery(stem)
	q.SetField(textField)
	q.SetFuzziness(1)
	return constant{q, 1}
}

// anyFact is met by a note that has any of the facts.
func anyFact(facts []string) query.Query {
	qs := make([]query.Query, len(facts))
	for i, f := range facts {
		qs[i] = inField(factField, f)
	}
	return bleve.NewDisjunctionQuery(qs...)
}
