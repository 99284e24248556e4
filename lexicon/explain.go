package lexicon

import (
	"slices"
	"strings"

	"example.com/stance/lexicon/internal/token"
)

// An Explanation is a reading with what was looked at on the way and gave no statement.
type Explanation struct {
	Reading
	Passed []Passed // in text order
	Mended []Mended // in text order
}

// Passed is a wording of the vocabulary that no statement rests on.
type Passed struct {
	Span  Span
	Term  string // id of the vocabulary entry
	Label string // of the entry, for people
	Why   PassedWhy
}

// PassedWhy says why a wording was passed over.
type PassedWhy string

const (
	LooksLike PassedWhy = "looks-like" // known to look like mobility and to be none, such as "fell asleep"
	Settled   PassedWhy = "settled"    // the words beside it give it another meaning
	Unclaimed PassedWhy = "unclaimed"  // nothing in its clause that it could belong to
)

// Mended is a word that was read as another, because it is misspelt or spelt in another way.
type Mended struct {
	Span Span
	As   string
}

// Explain reads a text as Read does and tells what was passed over and what was read as another word.
func (l *Lexicon) Explain(text string, role Role) Explanation {
	r := l.scratch.Get().(*reader)
	defer l.scratch.Put(r)
	var found []unit
	r.found = &found
	e := Explanation{Reading: r.read(l, text, role)}
	r.found = nil

	at := newPlaces(text)
	taken := e.taken()
	settled := map[int]kind{} // by first token: later steps may have parted or joined units
	for i := range r.units {
		settled[r.units[i].from] = r.units[i].kind
	}
	for _, u := range found {
		if u.e == nil {
			continue
		}
		p := Passed{Span: r.span(u.from, u.to), Term: u.e.ID, Label: u.e.Label}
		switch {
		case slices.ContainsFunc(taken, p.Span.Overlaps):
			continue
		case u.kind == kindIgnore:
			p.Why = LooksLike
		case !ownMeaning(u.kind) || u.e.fields.weak:
			continue
		case settled[u.from] == kindNone:
			p.Why = Settled
		default:
			p.Why = Unclaimed
		}
		at.fill(&p.Span)
		e.Passed = append(e.Passed, p)
	}

	written := map[int]string{} // by place
	for _, t := range token.Cut(nil, text) {
		written[t.Start] = t.Word
	}
	for i := range r.toks {
		t := &r.toks[i]
		if was, ok := written[t.Start]; ok && t.Kind == token.Word && was != t.Word && !strings.EqualFold(text[t.Start:t.End], t.Word) {
			m := Mended{Span: Span{Start: t.Start, End: t.End}, As: t.Word}
			at.fill(&m.Span)
			e.Mended = append(e.Mended, m)
		}
	}
	return e
}

// taken is the places of all words that a statement or remark rests on.
func (e *Explanation) taken() []Span {
	var all []Span
	for i := range e.Statements {
		s := &e.Statements[i]
		all = append(all, s.Detail.Head)
		for _, m := range s.Detail.Terms {
			all = append(all, m.Span)
		}
		if !s.Detail.Vague.IsZero() {
			all = append(all, s.Detail.Vague)
		}
		switch s.Group() {
		case "told", "aid", "reason", "vital", "review", "bearing", "sign", "fall":
			all = append(all, s.Span) // their words are one remark from end to end
		}
	}
	for _, m := range e.Remarks {
		all = append(all, m.Span)
	}
	return all
}

// ownMeaning reports whether wordings of the kind could carry or fill a statement, so that a person would
// ask what became of them. Words of scope and structure, everyday verbs and other care are none.
func ownMeaning(k kind) bool {
	switch k {
	case kindBearing, kindLimb, kindVerb, kindAid, kindStaff, kindLevel, kindVague, kindSign, kindFall, kindOffFloor,
		kindForm, kindVitalName, kindVitalPair, kindVitalTaken, kindReason, kindFaultWord, kindFit, kindReviewDone,
		kindReviewAsked, kindDistance:
		return true
	}
	return false
}
