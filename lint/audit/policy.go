package audit

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.com/stance/lexicon"
	"example.com/stance/lint/policy"
)

// A Policy is the settings under which notes were judged, as far as they differ from those of a home
// that sets nothing.
type Policy struct {
	Digest   string    `json:"digest"` // SHA-256 of all settings, in hexadecimal
	Settings []Setting `json:"settings"`
}

// A Setting is one of them, named as in a policy file: "windows.change", "rules.aid-unstated".
type Setting struct {
	Key   string `json:"key"`
	Value string `json:"value"`
}

// PolicyOf describes a policy.
func PolicyOf(p *policy.Policy) Policy {
	usual := settings(policy.Default())
	out := Policy{Settings: []Setting{}}
	h := sha256.New()
	for _, s := range settings(p) {
		fmt.Fprintf(h, "%q=%q\n", s.Key, s.Value)
		if !slices.Contains(usual, s) {
			out.Settings = append(out.Settings, s)
		}
	}
	for _, s := range usual { // a shift that is there no more, say
		if !slices.ContainsFunc(settings(p), func(o Setting) bool { return o.Key == s.Key }) {
			out.Settings = append(out.Settings, Setting{s.Key, "none"})
		}
	}
	out.Digest = hex.EncodeToString(h.Sum(nil))
	return out
}

// settings are all settings of a policy in an order of their own.
func settings(p *policy.Policy) []Setting {
	number := func(f float64) string { return strconv.FormatFloat(f, 'g', -1, 64) }
	zone := p.Zone.String()
	if p.Zone == time.Local {
		zone = "of the machine"
	}
	out := []Setting{
		{"zone", zone},
		{"lift_helpers", strconv.Itoa(p.LiftHelpers)},
		{"windows.change", p.ChangeWindow.String()},
		{"windows.copied", p.CopiedWindow.String()},
		{"copied_share", number(p.CopiedShare)},
		{"pressure.systolic", number(p.SystolicDrop)},
		{"pressure.diastolic", number(p.DiastolicDrop)},
		{"caps.toe-touch", number(p.ToeTouchCap)},
		{"caps.partial", number(p.PartialCap)},
	}
	if p.LiftHelpersFrom != nil {
		from := make([]string, len(p.LiftHelpersFrom))
		for i, h := range p.LiftHelpersFrom {
			from[i] = string(h)
		}
		out = append(out, Setting{"lift_helpers_from", cmp.Or(strings.Join(from, ", "), "none")})
	}
	for _, unit := range slices.Sorted(maps.Keys(p.Settings)) {
		out = append(out, Setting{"settings." + unit, string(p.Settings[unit])})
	}
	for _, name := range slices.Sorted(maps.Keys(p.Shifts)) {
		out = append(out, Setting{"shifts." + name, p.Shifts[name]})
	}
	for _, id := range slices.Sorted(maps.Keys(p.Rules)) {
		out = append(out, Setting{"rules." + id, string(p.Rules[id])})
	}
	for _, title := range slices.Sorted(maps.Keys(p.Roles)) {
		out = append(out, Setting{"roles." + title, string(p.Roles[title])})
	}
	for _, w := range p.Words {
		out = append(out, Setting{"words." + w.Term, word(w)})
	}
	return out
}

// word is what a home's own term means: the concept and the fields that the term implies.
func word(w lexicon.Word) string {
	out := w.Concept
	for _, name := range slices.Sorted(maps.Keys(w.Fields)) {
		out += " " + name + "=" + w.Fields[name]
	}
	return out
}
