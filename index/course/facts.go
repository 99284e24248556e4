package course

import (
	"slices"

	"example.com/stance/lexicon"
	"example.com/stance/lint/report"
	"example.com/stance/lint/timeline"
)

// A Fact is what two notes say of one thing: an aspect of mobility, or a sort of event. A note that says nothing of it
// has no words there.
type Fact struct {
	Name   string // "Helpers"
	Before []string
	After  []string
	Same   bool // both say it, the one perhaps less exactly
}

// Facts sets two notes of a resident against one another, thing by thing, in the order of the lanes and then of events.
// What neither says is left out.
func Facts(t *timeline.Timeline, opt Options, before, after *timeline.Entry) []Fact {
	b := &builder{opt: opt, timeline: t, entries: inOrder(t.Entries)}
	b.rows = known(t.Rows, opt.AsOf)
	b.aspects = b.allAspects()
	if at := slices.IndexFunc(b.aspects, func(s aspect) bool { return s.id == walking().id }); at >= 0 {
		b.aspects = slices.Insert(b.aspects, at+1, walkHelpers())
	}
	var facts []Fact
	for i := range b.aspects {
		s := &b.aspects[i]
		was, is := s.told(before), s.told(after)
		if len(was)+len(is) == 0 {
			continue
		}
		facts = append(facts, Fact{s.name, toldWords(was), toldWords(is), s.alike(was, is)})
	}
	for _, k := range kinds() {
		was, is := kindWords(b.events(before), k), kindWords(b.events(after), k)
		if len(was)+len(is) > 0 {
			facts = append(facts, Fact{report.Capital(string(k)), was, is, slices.Equal(was, is)})
		}
	}
	return facts
}

// walkHelpers is who helped with walking. It has no lane, since charts count the helpers of a transfer.
func walkHelpers() aspect {
	return aspect{name: "Helpers, walking", written: func(s *lexicon.Statement) []Value {
		if n, ok := s.Staff.Get(); ok && s.Concept == "move.walk" {
			return []Value{helperValue(n)}
		}
		return nil
	}}
}

// told are the values that a note gives of an aspect, each once: those done, then those ordered.
func (s *aspect) told(e *timeline.Entry) []told {
	var all []told
	for _, ordered := range []bool{false, true} {
		for i := range e.Reading.Statements {
			st := &e.Reading.Statements[i]
			if ordered != (st.Mood == lexicon.Order) || !ordered && !draws(st) || ordered && !orders(st) {
				continue
			}
			for _, v := range s.written(st) {
				if !slices.ContainsFunc(all, func(o told) bool { return o.Value == v }) {
					all = append(all, told{v, ordered})
				}
			}
		}
	}
	return all
}

// orders reports whether a statement is an order about the resident from now on.
func orders(s *lexicon.Statement) bool {
	return s.Mood == lexicon.Order && s.Polarity == lexicon.Affirmed && s.Who == lexicon.Resident && s.Time != lexicon.Before
}

// A told is a value that a note gives, and whether it orders that.
type told struct {
	Value
	ordered bool
}

// alike reports whether each value of the one note is among those of the other, exactly or less so.
func (s *aspect) alike(was, is []told) bool {
	in := func(v told, all []told) bool {
		return slices.ContainsFunc(all, func(o told) bool {
			_, same := s.merge(o.Value, v.Value)
			return same && o.ordered == v.ordered
		})
	}
	for _, v := range was {
		if !in(v, is) {
			return false
		}
	}
	for _, v := range is {
		if !in(v, was) {
			return false
		}
	}
	return true
}

func toldWords(all []told) []string {
	var words []string
	for _, v := range all {
		w := v.Words
		if v.ordered {
			w += ", ordered"
		}
		words = append(words, w)
	}
	return words
}

func kindWords(events []Event, k Kind) []string {
	for _, e := range events {
		if e.Kind == k {
			return []string{e.Words}
		}
	}
	return nil
}
