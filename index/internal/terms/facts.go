// Package terms says under which terms a note is found: those of its words and those of what it says.
package terms

import (
	"slices"
	"strconv"
	"strings"

	"example.com/stance/lexicon"
)

// A class is what parts statements before anything else: whether a thing is so, when, and of whom. It
// is three letters, and the first part of a fact's term.
type class string

// current is the class of what is so in this shift, of the resident.
const current class = "anr"

func classOf(s *lexicon.Statement) class {
	c := []byte("anr")
	if s.Polarity == lexicon.Negated {
		c[0] = 'n'
	}
	switch s.Time {
	case lexicon.Before:
		c[1] = 'p'
	case lexicon.Planned, lexicon.Conditional:
		c[1] = 'f'
	}
	if s.Who == lexicon.Other {
		c[2] = 'o'
	}
	return class(c)
}

// A field is one field of a statement that can be asked for.
type field struct{ name, value string }

// fieldsOf are the fields of a statement apart from its aids, in the order in which terms have them.
func fieldsOf(s *lexicon.Statement) []field {
	var fs []field
	add := func(name, value string) {
		if value != "" {
			fs = append(fs, field{name, value})
		}
	}
	add("assist", s.Assist)
	if s.Fixed {
		add("fixed", "yes")
	}
	add("helpers", strings.Join(s.Helpers, "+"))
	add("limb", s.Limb)
	add("method", s.Method)
	add("side", s.Side)
	if n, ok := s.Staff.Get(); ok {
		add("staff", strconv.Itoa(n))
	}
	return fs
}

// groups are those who may help with a move, staff among them, sorted.
func groups() []string { return []string{"family", "other-resident", "staff", "student", "volunteer"} }

// With are the values of the field helpers with a group among them.
func With(group string) []string {
	all := groups()
	var with []string
	for chosen := range 1 << len(all) {
		var some []string
		for bit, g := range all {
			if chosen&(1<<bit) != 0 {
				some = append(some, g)
			}
		}
		if slices.Contains(some, group) {
			with = append(with, strings.Join(some, "+"))
		}
	}
	return with
}

// aidsOf are the aids of a statement, by id without "aid.": those of a move, the one that its method is
// named for, or the one that the statement is about.
func aidsOf(s *lexicon.Statement) []string {
	aids := slices.Clip(s.Aids)
	switch name, about := strings.CutPrefix(s.Concept, "aid."); {
	case about && name != "fit" && name != "fault":
		aids = append(aids, name)
	case s.Method == "board", s.Method == "lift", strings.HasSuffix(s.Method, "-lift"):
		aids = append(aids, s.Method)
	}
	return aids
}

// Facts are the terms of statements, sorted: for each statement its class with its concept or none, each
// choice of its fields, and one of its aids or none. So whatever is asked of one and the same statement
// is one term.
func Facts(statements []lexicon.Statement) []string {
	var all []string
	for i := range statements {
		s := &statements[i]
		fs := fieldsOf(s)
		for _, aid := range append([]string{""}, aidsOf(s)...) {
			for chosen := range 1 << len(fs) { // seven fields at most, and seldom more than three
				var picked []field
				for bit, f := range fs {
					if chosen&(1<<bit) != 0 {
						picked = append(picked, f)
					}
				}
				all = append(all, term(classOf(s), s.Concept, aid, picked))
				if aid != "" || chosen != 0 {
					all = append(all, term(classOf(s), "", aid, picked))
				}
			}
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// term writes a fact; fields are in the order of fieldsOf.
func term(c class, concept, aid string, fields []field) string {
	var b strings.Builder
	b.WriteString(string(c))
	b.WriteByte(' ')
	b.WriteString(concept)
	if aid != "" {
		b.WriteString(" aid=")
		b.WriteString(aid)
	}
	for _, f := range fields {
		b.WriteByte(' ')
		b.WriteString(f.name)
		b.WriteByte('=')
		b.WriteString(f.value)
	}
	return b.String()
}

// Said are the concepts, aids of moves among them, that are so in this shift of the resident, sorted.
func Said(statements []lexicon.Statement) []string {
	var all []string
	for i := range statements {
		s := &statements[i]
		if classOf(s) != current {
			continue
		}
		all = append(all, s.Concept)
		for _, aid := range aidsOf(s) {
			all = append(all, "aid."+aid)
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// An Ask is what one statement has to meet, all of it. Each list holds alternatives; an empty one asks
// for nothing.
type Ask struct {
	Concepts []string
	Aids     []string            // without "aid."
	Fields   map[string][]string // by name: assist, fixed, helpers, limb, method, side, staff

	Negated, Affirmed bool // polarities taken
	Before, Ahead     bool // what is past, and what is planned or under a condition, taken too
	Others            bool // what is said of others taken too
}

// Terms are the terms of Facts that meet the ask: those of what is so in this shift of the resident, and
// the others that it takes.
func (a *Ask) Terms() (now, rest []string) {
	picks := [][]field{nil}
	for _, name := range []string{"assist", "fixed", "helpers", "limb", "method", "side", "staff"} {
		values := a.Fields[name]
		if len(values) == 0 {
			continue
		}
		var longer [][]field
		for _, p := range picks {
			for _, v := range values {
				longer = append(longer, append(slices.Clip(p), field{name, v}))
			}
		}
		picks = longer
	}
	for _, c := range a.classes() {
		for _, concept := range orNone(a.Concepts) {
			for _, aid := range orNone(a.Aids) {
				for _, p := range picks {
					t := term(c, concept, aid, p)
					if c[1:] == current[1:] {
						now = append(now, t)
					} else {
						rest = append(rest, t)
					}
				}
			}
		}
	}
	return now, rest
}

func orNone(s []string) []string {
	if len(s) == 0 {
		return []string{""}
	}
	return s
}

func (a *Ask) classes() []class {
	all := []string{""}
	grow := func(letters string) {
		var longer []string
		for _, c := range all {
			for _, l := range letters {
				longer = append(longer, c+string(l))
			}
		}
		all = longer
	}
	grow(chosen(a.Affirmed, "a") + chosen(a.Negated, "n"))
	grow("n" + chosen(a.Before, "p") + chosen(a.Ahead, "f"))
	grow("r" + chosen(a.Others, "o"))
	classes := make([]class, len(all))
	for i, c := range all {
		classes[i] = class(c)
	}
	return classes
}

func chosen(take bool, letter string) string {
	if take {
		return letter
	}
	return ""
}

// Meets reports whether a statement meets the ask.
func (a *Ask) Meets(s *lexicon.Statement) bool {
	if !slices.Contains(a.classes(), classOf(s)) || len(a.Concepts) > 0 && !slices.Contains(a.Concepts, s.Concept) {
		return false
	}
	if len(a.Aids) > 0 && !slices.ContainsFunc(aidsOf(s), func(aid string) bool { return slices.Contains(a.Aids, aid) }) {
		return false
	}
	have := map[string]string{}
	for _, f := range fieldsOf(s) {
		have[f.name] = f.value
	}
	for name, values := range a.Fields {
		if len(values) > 0 && !slices.Contains(values, have[name]) {
			return false
		}
	}
	return true
}

// Below are the ids among known that an id stands for: itself, a whole group ("bearing"), and what is
// named after it with more ("aid.walker" stands for "aid.walker-2w", "aid.lift" for "aid.total-lift", and
// so without a group, "lift" for "total-lift").
func Below(id string, known []string) []string {
	var below []string
	group, name, inGroup := strings.Cut(id, ".")
	for _, k := range known {
		kGroup, kName, _ := strings.Cut(k, ".")
		switch {
		case k == id,
			!inGroup && kGroup == id,
			!inGroup && kName == "" && named(k, id),
			inGroup && kGroup == group && named(kName, name):
			below = append(below, k)
		}
	}
	return below
}

func named(longer, name string) bool {
	return strings.HasPrefix(longer, name+"-") || strings.HasSuffix(longer, "-"+name)
}
