package cli

import (
	"strconv"
	"strings"

	"example.com/stance/lexicon"
)

// A said is one field of a statement and its value, in words.
type said struct{ field, value string }

// fieldsOf lists the fields that the words of a statement give, in the published order; defaults are
// left out.
func fieldsOf(s *lexicon.Statement) []said {
	var all []said
	add := func(field, value, usual string) {
		if value != "" && value != usual {
			all = append(all, said{field, value})
		}
	}
	number := func(field string, o lexicon.Optional[float64]) {
		if v, ok := o.Get(); ok {
			add(field, strconv.FormatFloat(v, 'f', -1, 64), "")
		}
	}
	add("polarity", string(s.Polarity), string(lexicon.Affirmed))
	add("time", string(s.Time), string(lexicon.Now))
	add("who", string(s.Who), string(lexicon.Resident))
	add("certainty", string(s.Certainty), string(lexicon.Certain))
	add("mood", string(s.Mood), string(lexicon.Report))
	add("limb", s.Limb, "")
	add("side", s.Side, "")
	number("percent", s.Percent)
	if n, ok := s.Staff.Get(); ok {
		add("staff", strconv.Itoa(n), "")
	}
	add("assist", s.Assist, "")
	add("method", s.Method, "")
	add("aids", strings.Join(s.Aids, ", "), "")
	add("from", s.From, "")
	add("to", s.To, "")
	number("distance_m", s.DistanceM)
	number("systolic", s.Systolic)
	number("diastolic", s.Diastolic)
	add("posture", s.Posture, "")
	add("fit", s.Fit, "")
	number("value", s.Value)
	add("clock", s.Clock, "")
	add("helpers", strings.Join(s.Helpers, ", "), "")
	if s.Fixed {
		add("fixed", "yes", "")
	}
	return all
}

// saidOf is the fields on one line: "polarity negated; staff 2; aids belt".
func saidOf(s *lexicon.Statement) string {
	var parts []string
	for _, f := range fieldsOf(s) {
		parts = append(parts, f.field+" "+f.value)
	}
	return strings.Join(parts, "; ")
}
