package cli

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"example.com/stance/cmd/stance/web/pages/says"
	"example.com/stance/lexicon"
	"example.com/stance/lint/nearest"
	"example.com/stance/lint/plural"
	"example.com/stance/lint/report"
)

type wordsOptions struct {
	policy string
	role   *choice
	format *choice
	ids    bool
}

func (a *app) wordsCommand() *cobra.Command {
	var opt wordsOptions
	c := &cobra.Command{
		Use:   "words [TERM or sentence…]",
		Short: "Show how a term or a sentence is understood, and why",
		Long: `words reads a term or a whole sentence as a note and says what was understood, with the words
that each part comes from; below that, the words that were looked at and passed over, and
the words that were read as another. With nothing to read it lists all that can be understood.

With --ids it speaks in the ids of concepts and fields, which stance find and a policy take;
the JSON form always has them.

` + doneStatuses,
		Example: `  stance words NWB LLE
  stance words "denies dizziness on standing"
  stance words --ids walker
  stance words --role therapist "Transfers: A2 mech lift"`,
		RunE: func(_ *cobra.Command, args []string) error { return a.words(&opt, args) },
	}
	opt.format = formats(c, "text", "json")
	opt.role = &choice{value: string(lexicon.CareWorker), allowed: []string{
		string(lexicon.CareWorker), string(lexicon.Nurse), string(lexicon.Therapist), string(lexicon.Doctor), string(lexicon.OtherRole)}}
	c.Flags().BoolVar(&opt.ids, "ids", false, "name concepts and fields by their ids")
	c.Flags().Var(opt.role, "role", "who is taken to have written it")
	c.Flags().StringVar(&opt.policy, "policy", "", "policy `file` with the home's own words")
	return c
}

func (a *app) words(opt *wordsOptions, args []string) error {
	_, lex, err := a.policy(opt.policy, nil)
	if err != nil {
		return err
	}
	w := bufio.NewWriter(a.out)
	text := strings.TrimSpace(strings.Join(args, " "))
	asJSON := opt.format.value == "json"
	switch {
	case len(args) == 0 && asJSON:
		err = encode(w, conceptsOf(lex))
	case len(args) == 0 && opt.ids:
		listConcepts(w, lex.Concepts())
	case len(args) == 0:
		a.listPlainly(w, lex.Concepts())
	case text == "":
		return usagef("words: the text is empty, want a term or a sentence")
	default:
		u := understand(lex, text, lexicon.Role(opt.role.value))
		switch {
		case asJSON:
			err = encode(w, u)
		case opt.ids:
			u.print(w, lex)
		default:
			u.printPlainly(w, says.New(lex.Concepts()))
		}
	}
	if err != nil {
		return err
	}
	return w.Flush()
}

// concept is the JSON form of a concept.
type concept struct {
	ID    string   `json:"concept"`
	Label string   `json:"label"`
	Codes []string `json:"codes"`
	Says  []string `json:"says"`
}

func conceptsOf(lex *lexicon.Lexicon) []concept {
	infos := lex.Concepts()
	out := make([]concept, len(infos))
	for i, c := range infos {
		out[i] = concept{c.ID, c.Label, orEmpty(c.Codes), orEmpty(c.Says)}
	}
	return out
}

func orEmpty(s []string) []string {
	if s == nil {
		return []string{}
	}
	return s
}

func listConcepts(w io.Writer, all []lexicon.ConceptInfo) {
	idWidth, ways := 0, 0
	for _, c := range all {
		idWidth, ways = max(idWidth, len(c.ID)), ways+len(c.Says)
	}
	for _, c := range all {
		fmt.Fprintf(w, "%-*s  %s, said in %s", idWidth, c.ID, c.Label, plural.Of(len(c.Says), "way"))
		if len(c.Codes) > 0 {
			fmt.Fprintf(w, " (%s)", strings.Join(c.Codes, ", "))
		}
		fmt.Fprintln(w)
	}
	fmt.Fprintf(w, "\n%s, said in %s. stance words TERM shows how a term is understood.\n", plural.Of(len(all), "concept"), plural.Of(ways, "way"))
}

// An understanding is what a text says and how that was read.
type understanding struct {
	Text       string        `json:"text"`
	Statements []explained   `json:"statements"`
	Remarks    []heardRemark `json:"remarks"`
	Passed     []passedWord  `json:"passed"` // looked at, and no statement rests on it
	Mended     []mendedWord  `json:"mended"` // read as another word
	Near       []string      `json:"near"`   // known terms like the text's words, where it says nothing
}

// explained is a statement with the words that gave each of its fields.
type explained struct {
	lexicon.Statement
	Judged string `json:"judged,omitempty"` // what the judge went by, where the grammar alone did not know
	Terms  []cue  `json:"terms"`
}

type cue struct {
	Field string       `json:"field"`
	Text  string       `json:"text"`
	Entry string       `json:"entry"` // of the vocabulary
	Span  lexicon.Span `json:"span"`
}

type heardRemark struct {
	Kind lexicon.RemarkKind `json:"kind"`
	Text string             `json:"text"`
	Span lexicon.Span       `json:"span"`
}

type passedWord struct {
	Text  string            `json:"text"`
	Entry string            `json:"entry"`
	Why   lexicon.PassedWhy `json:"why"`
	Span  lexicon.Span      `json:"span"`

	label string
}

type mendedWord struct {
	Text string       `json:"text"`
	As   string       `json:"as"`
	Span lexicon.Span `json:"span"`
}

func understand(lex *lexicon.Lexicon, text string, role lexicon.Role) understanding {
	r := lex.Explain(text, role)
	u := understanding{
		Text: text, Statements: []explained{}, Remarks: []heardRemark{},
		Passed: []passedWord{}, Mended: []mendedWord{}, Near: []string{},
	}
	for _, s := range r.Statements {
		e := explained{Statement: s, Judged: s.Detail.Judged, Terms: []cue{}}
		for _, m := range s.Detail.Terms {
			e.Terms = append(e.Terms, cue{m.Field, text[m.Span.Start:m.Span.End], m.Term, m.Span})
		}
		slices.SortStableFunc(e.Terms, func(a, b cue) int { return a.Span.Start - b.Span.Start })
		u.Statements = append(u.Statements, e)
	}
	for _, m := range r.Remarks {
		u.Remarks = append(u.Remarks, heardRemark{m.Kind, text[m.Span.Start:m.Span.End], m.Span})
	}
	for _, p := range r.Passed {
		u.Passed = append(u.Passed, passedWord{text[p.Span.Start:p.Span.End], p.Term, p.Why, p.Span, p.Label})
	}
	for _, m := range r.Mended {
		u.Mended = append(u.Mended, mendedWord{text[m.Span.Start:m.Span.End], m.As, m.Span})
	}
	if len(u.Statements) == 0 && len(u.Remarks) == 0 {
		u.Near = nearTerms(lex, text)
	}
	return u
}

// nearTerms are up to five known terms close to the text in spelling, the closest first.
func nearTerms(lex *lexicon.Lexicon, text string) []string {
	type candidate struct {
		term  string
		edits int
	}
	limit := max(2, len(text)/3)
	var found []candidate
	seen := map[string]bool{}
	for _, c := range lex.Concepts() {
		for _, said := range c.Says {
			if strings.ContainsAny(said, "([{") || strings.Contains(said, "...") {
				continue // a pattern, which has no one spelling
			}
			if d := nearest.Distance(text, said); d <= limit && !seen[said] {
				seen[said] = true
				found = append(found, candidate{said, d})
			}
		}
	}
	slices.SortFunc(found, func(a, b candidate) int { return cmp.Or(a.edits-b.edits, strings.Compare(a.term, b.term)) })
	near := []string{}
	for _, f := range found[:min(len(found), 5)] {
		near = append(near, f.term)
	}
	return near
}

// nothing writes that a text says nothing, and reports whether that is so.
func (u *understanding) nothing(w io.Writer) bool {
	if len(u.Statements) > 0 || len(u.Remarks) > 0 {
		return false
	}
	fmt.Fprintf(w, "%q says nothing about mobility that stance knows.\n", u.Text)
	if len(u.Near) > 0 {
		fmt.Fprintf(w, "Known terms like it: %s.\n", strings.Join(u.Near, ", "))
	}
	return true
}

func (u *understanding) print(w io.Writer, lex *lexicon.Lexicon) {
	if u.nothing(w) {
		u.aside(w, true)
		return
	}
	label := map[string]string{}
	for _, c := range lex.Concepts() {
		label[c.ID] = c.Label
	}
	for i := range u.Statements {
		e := &u.Statements[i]
		if i > 0 {
			fmt.Fprintln(w)
		}
		fmt.Fprintf(w, "%s (%s)\n  said in «%s»\n", e.Concept, label[e.Concept], report.Printable(e.Text))
		told := map[string]bool{"concept": true}
		e.because(w, "concept", "")
		if e.Judged != "" {
			fmt.Fprintf(w, "    judged by what stands about it: %s\n", e.Judged)
		}
		for _, f := range fieldsOf(&e.Statement) {
			told[f.field] = true
			e.because(w, f.field, f.value)
		}
		for _, t := range e.Terms { // words looked at that left a field at its usual value
			if !told[t.Field] {
				told[t.Field] = true
				e.because(w, t.Field, "as usual")
			}
		}
	}
	for i, r := range u.Remarks {
		if i > 0 || len(u.Statements) > 0 {
			fmt.Fprintln(w)
		}
		fmt.Fprintf(w, "remark, %s\n  said in «%s»\n", remarkWords(r.Kind), report.Printable(r.Text))
	}
	u.aside(w, true)
}

// aside writes what was passed over, with ids or without, and what was read as another word.
func (u *understanding) aside(w io.Writer, ids bool) {
	if len(u.Passed) > 0 {
		fmt.Fprint(w, "\nlooked at and passed over\n")
		for _, p := range u.Passed {
			fmt.Fprintf(w, "    «%s»: %s\n", report.Printable(p.Text), p.because(ids))
		}
	}
	if len(u.Mended) > 0 {
		fmt.Fprint(w, "\nread as another word\n")
		for _, m := range u.Mended {
			fmt.Fprintf(w, "    «%s» as «%s»\n", report.Printable(m.Text), m.As)
		}
	}
}

func (p *passedWord) because(ids bool) string {
	what := p.label
	if ids {
		what += " (" + p.Entry + ")"
	}
	switch p.Why {
	case lexicon.LooksLike:
		return "looks like mobility and is none"
	case lexicon.Settled:
		return fmt.Sprintf("could be %s, but not beside these words", what)
	}
	return fmt.Sprintf("%s, but nothing here that it could belong to", what)
}

// because writes one field, its value and the words that gave it.
func (e *explained) because(w io.Writer, field, value string) {
	var from []string
	for _, t := range e.Terms {
		if t.Field == field {
			from = append(from, fmt.Sprintf("«%s» (%s)", report.Printable(t.Text), t.Entry))
		}
	}
	line := field
	if value != "" {
		line += " " + value
	}
	switch {
	case len(from) > 0:
		fmt.Fprintf(w, "    %s, from %s\n", line, strings.Join(from, ", "))
	case value != "":
		fmt.Fprintf(w, "    %s\n", line)
	}
}

func remarkWords(k lexicon.RemarkKind) string {
	switch k {
	case lexicon.NoPart:
		return "the resident took no part"
	case lexicon.Unable:
		return "the resident could not stand or bear weight"
	case lexicon.TookPart:
		return "the resident took part"
	case lexicon.Vague:
		return "help in words that tell no amount"
	}
	return string(k)
}
