package index

import (
	"errors"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/blevesearch/bleve/v2/search"

	"example.com/stance/index/internal/terms"
	"example.com/stance/lexicon"
)

// values are the values that a field of a statement may have; see package lexicon.
func values(field string) []string {
	switch field {
	case "side":
		return []string{"left", "right", "both"}
	case "limb":
		return []string{"leg", "arm"}
	case "method":
		return []string{"pivot", "side-by-side", "board", "sit-stand-lift", "total-lift", "lift"}
	case "fixed":
		return []string{"yes"}
	case "helpers":
		return []string{"student", "family", "volunteer", "other-resident"}
	case "assist":
		return []string{"independent", "supervision", "standby", "contact-guard", "minimum", "moderate", "maximum", "dependent"}
	}
	return nil
}

// A vocab is the concepts that can be asked for.
type vocab struct {
	concepts []string
	aids     []string // without "aid."
}

func vocabOf(lex Reader) vocab {
	var v vocab
	for _, c := range lex.Concepts() {
		v.concepts = append(v.concepts, c.ID)
		if aid, ok := strings.CutPrefix(c.ID, "aid."); ok && aid != "fit" && aid != "fault" {
			v.aids = append(v.aids, aid)
		}
	}
	return v
}

// asked is what a query asks of a statement, as alternatives; none where it asks nothing.
func (v *vocab) asked(q *Query) ([]*terms.Ask, error) {
	a := terms.Ask{Before: q.AnyTime, Ahead: q.AnyTime || q.Planned, Others: q.Anyone, Fields: map[string][]string{}}
	switch q.Polarity {
	case "", Affirmed:
		a.Affirmed = true
	case Negated:
		a.Negated = true
	case AnyPolarity:
		a.Affirmed, a.Negated = true, true
	default:
		return nil, unknown("polarity", q.Polarity, []string{Affirmed, Negated, AnyPolarity})
	}
	for _, c := range q.Concepts {
		below := terms.Below(strings.ToLower(c), v.concepts)
		if len(below) == 0 {
			return nil, unknown("concept", c, v.askable())
		}
		a.Concepts = append(a.Concepts, below...)
	}
	aid := q.Aid
	for _, name := range slices.Sorted(maps.Keys(q.Fields)) {
		value := q.Fields[name]
		if name == "aid" {
			if aid != "" && aid != value {
				return nil, errors.New("two aids are asked for, want one")
			}
			aid = value
			continue
		}
		var err error
		if a.Fields[name], err = alternatives(name, strings.ToLower(value)); err != nil {
			return nil, err
		}
	}
	if aid != "" {
		a.Aids = terms.Below(strings.TrimPrefix(strings.ToLower(aid), "aid."), v.aids)
		if len(a.Aids) == 0 {
			return nil, unknown("aid", aid, v.aids)
		}
	}
	if len(a.Concepts)+len(a.Aids)+len(a.Fields) == 0 {
		if a.Negated && !a.Affirmed {
			a.Concepts = v.concepts // anything at all that is said not to be so
			return []*terms.Ask{&a}, nil
		}
		return nil, nil
	}
	if len(a.Aids) > 0 {
		return []*terms.Ask{&a}, nil
	}
	// An aid that is asked for as a concept may also be the means of a move.
	asked, moved := a.Concepts, a
	moved.Concepts, a.Concepts = nil, nil
	for _, id := range asked {
		if name, isAid := strings.CutPrefix(id, "aid."); isAid && slices.Contains(v.aids, name) {
			moved.Aids = append(moved.Aids, name)
		} else {
			a.Concepts = append(a.Concepts, id)
		}
	}
	var asks []*terms.Ask
	if len(a.Concepts) > 0 || len(asked) == 0 {
		asks = append(asks, &a)
	}
	if len(moved.Aids) > 0 {
		asks = append(asks, &moved)
	}
	return asks, nil
}

// askable are the ids that stand for concepts, groups of them included.
func (v *vocab) askable() []string {
	all := slices.Clone(v.concepts)
	for _, c := range v.concepts {
		if group, _, _ := strings.Cut(c, "."); !slices.Contains(all, group) {
			all = append(all, group)
		}
	}
	return all
}

// alternatives are the values of a field that answer one that is asked for: what is so on both sides is
// so on the left, and a total lift is a lift.
func alternatives(field, value string) ([]string, error) {
	if field == "staff" {
		if n, err := strconv.Atoi(value); err != nil || n < 0 {
			return nil, unknown("number of staff", value, nil)
		}
		return []string{value}, nil
	}
	known := values(field)
	if known == nil {
		return nil, unknown("field", field, []string{"side", "limb", "method", "assist", "staff", "aid", "helpers", "fixed"})
	}
	if field == "helpers" {
		if !slices.Contains(known, value) {
			return nil, unknown(field, value, known)
		}
		return terms.With(value), nil
	}
	below := terms.Below(value, known)
	if len(below) == 0 {
		return nil, unknown(field, value, known)
	}
	if field == "side" && value != "both" {
		below = append(below, "both")
	}
	return below, nil
}

// meant is the ask for all that says the same as a statement: of anyone, at any time.
func (v *vocab) meant(s *lexicon.Statement) *terms.Ask {
	a := &terms.Ask{
		Affirmed: s.Polarity == lexicon.Affirmed, Negated: s.Polarity == lexicon.Negated,
		Before: true, Ahead: true, Others: true,
		Fields: map[string][]string{},
	}
	aids := s.Aids
	if name, ok := strings.CutPrefix(s.Concept, "aid."); ok && slices.Contains(v.aids, name) {
		aids = []string{name} // in a move as well
	} else {
		a.Concepts = terms.Below(s.Concept, v.concepts)
	}
	if len(aids) > 0 {
		a.Aids = terms.Below(aids[0], v.aids)
	}
	for field, value := range map[string]string{"side": s.Side, "method": s.Method, "assist": s.Assist} {
		if value != "" {
			a.Fields[field], _ = alternatives(field, value) // the lexicon gives known values
		}
	}
	if s.Limb == "arm" { // a leg is meant where none is said
		a.Fields["limb"] = []string{s.Limb}
	}
	if n, ok := s.Staff.Get(); ok {
		a.Fields["staff"] = []string{strconv.Itoa(n)}
	}
	return a
}

// unknown is the error for a value, with the known one that is nearest in spelling, if it is near.
func unknown(what, value string, known []string) error {
	e := &UnknownError{What: what, Value: value}
	least := max(1, len(value)/3) + 1
	for _, k := range known {
		if d := search.LevenshteinDistance(strings.ToLower(value), strings.ToLower(k)); d < least {
			e.Nearest, least = k, d
		}
	}
	return e
}
