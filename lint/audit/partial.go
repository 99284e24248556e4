package audit

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"
)

// What a partial calls itself. The version rises when its form or the meaning of its counts changes.
const (
	formatName    = "stance audit partial"
	formatVersion = 3
)

// A head is what two tallies must have in common to be merged.
type head struct {
	Format        string `json:"format"`
	FormatVersion int    `json:"format_version"`
	Version       string `json:"version"` // of the program
	Charted       bool   `json:"charted"`
	Policy        Policy `json:"policy"`
	Names         Names  `json:"names"`
	Rules         []Rule `json:"rules"`
}

// Names says whether residents go by their names. Hidden ones can be put together only where one key
// hid them, which is told by a mark of it.
type Names struct {
	Hidden bool   `json:"hidden"`
	Key    string `json:"key,omitempty"` // mark of the key, from which the key cannot be found
}

// same says what keeps two tallies from being merged.
func (h head) same(o head) error {
	switch {
	case h.Version != o.Version:
		return fmt.Errorf("counted by stance %s, want %s: other versions read notes otherwise", o.Version, h.Version)
	case h.Policy.Digest != o.Policy.Digest:
		return fmt.Errorf("counted under another policy (%.12s, want %.12s)%s", o.Policy.Digest, h.Policy.Digest, differing(h.Policy, o.Policy))
	case h.Charted != o.Charted:
		return fmt.Errorf("counted %s, want %s: the rules against the chart are silent without one", withChart(o.Charted), withChart(h.Charted))
	case h.Names.Hidden != o.Names.Hidden:
		return errors.New("names are hidden in one and shown in another, want all alike")
	case h.Names.Key != o.Names.Key:
		return errors.New("names were hidden with another key, want one key for all")
	case !slices.Equal(h.Rules, o.Rules):
		return errors.New("counted by other rules, want the same")
	}
	return nil
}

func withChart(charted bool) string {
	if charted {
		return "with a chart"
	}
	return "without a chart"
}

// differing names the settings that differ.
func differing(a, b Policy) string {
	var keys []string
	for _, pair := range [][2]Policy{{a, b}, {b, a}} {
		for _, s := range pair[0].Settings {
			if !slices.Contains(pair[1].Settings, s) && !slices.Contains(keys, s.Key) {
				keys = append(keys, s.Key)
			}
		}
	}
	if len(keys) == 0 {
		return ""
	}
	slices.Sort(keys)
	return ": " + strings.Join(keys, ", ")
}

// A partial is the written form of a tally.
type partial struct {
	head
	Unread Unread `json:"unread"`

	NotUnderstood int `json:"not_understood"` // sentences about moving, in the notes counted

	// Counts are notes, opportunities and findings by dimension and value; cells by scope, each notes
	// with an opportunity, notes flagged, opportunities and findings. A scope with no opportunities
	// is left out. Events are how often each was told and put right; those not told are left out.
	Counts map[string]map[string]partialValue `json:"counts"`
}

type partialValue struct {
	Notes int               `json:"notes"`
	Cells map[string][4]int `json:"cells"`
	Told  map[string][2]int `json:"told"`
}

// Partial is the written form of what has been counted: JSON in which equal counts have equal bytes.
// What Keep left out is not in it, since other parts are likely to have counted it.
func (t *Tally) Partial() ([]byte, error) {
	p := partial{head: t.head, Unread: t.unread, NotUnderstood: t.overlooked, Counts: make(map[string]map[string]partialValue)}
	for _, dim := range dimensions() {
		p.Counts[dim] = make(map[string]partialValue)
		for name, v := range t.values[dim] {
			pv := partialValue{v.notes, make(map[string][4]int), make(map[string][2]int)}
			for i, c := range v.cells {
				if c.Opportunities > 0 {
					pv.Cells[t.scopes[i]] = [4]int{c.Notes, c.Flagged, c.Opportunities, c.Findings}
				}
			}
			for i, n := range v.told {
				if n.Told > 0 {
					pv.Told[t.events[i].ID] = [2]int{n.Told, n.Fixed}
				}
			}
			p.Counts[dim][name] = pv
		}
	}
	var b bytes.Buffer
	enc := json.NewEncoder(&b) // writes the keys of maps in order
	enc.SetEscapeHTML(false)
	if err := enc.Encode(p); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// ReadPartial reads what [Tally.Partial] wrote. Errors name the file and say what was expected.
func ReadPartial(name string, r io.Reader) (*Tally, error) {
	dec := json.NewDecoder(r)
	var p partial
	err := dec.Decode(&p)
	switch {
	case p.Format != "" && p.Format != formatName, p.Format == "" && err == nil:
		return nil, fmt.Errorf("%s: is no partial audit, want a file that stance audit --partial wrote", name)
	case p.Format == formatName && p.FormatVersion < formatVersion:
		return nil, fmt.Errorf("%s: is a partial audit of form %d, which an older stance wrote and which lacks counts of this one, want form %d: "+
			"count its notes again with stance audit --partial", name, p.FormatVersion, formatVersion)
	case p.Format == formatName && p.FormatVersion > formatVersion:
		return nil, fmt.Errorf("%s: is a partial audit of form %d, which a newer stance wrote, want form %d: merge it with that stance",
			name, p.FormatVersion, formatVersion)
	case err != nil, p.Policy.Digest == "", len(p.Rules) == 0:
		return nil, fmt.Errorf("%s: is no whole partial audit, want a file that stance audit --partial wrote", name)
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("%s: more follows the partial audit, want one a file", name)
	}
	t := newTally(p.head)
	if p.NotUnderstood < 0 {
		return nil, fmt.Errorf("%s: counts %d sentences as not understood, want 0 or more", name, p.NotUnderstood)
	}
	t.unread, t.overlooked = p.Unread, p.NotUnderstood
	for dim, values := range p.Counts {
		if !slices.Contains(dimensions(), dim) {
			return nil, fmt.Errorf("%s: counts by %q, want by %s", name, dim, strings.Join(dimensions(), ", "))
		}
		for label, pv := range values {
			if err := t.setValue(dim, label, pv); err != nil {
				return nil, fmt.Errorf("%s: %w", name, err)
			}
		}
	}
	return t, nil
}

// setValue takes the counts of one value in, which must be possible ones.
func (t *Tally) setValue(dim, label string, pv partialValue) error {
	if dim == byDay {
		if _, err := time.Parse(time.DateOnly, label); err != nil {
			return fmt.Errorf("counts of a day that is no date, want 2006-01-02")
		}
	}
	v := t.value(dim, label)
	v.notes = pv.Notes
	for scope, n := range pv.Cells {
		i := slices.Index(t.scopes, scope)
		if i < 0 {
			return fmt.Errorf("counts of a rule that the file does not list: %q", scope)
		}
		c := cell{n[0], n[1], n[2], n[3]}
		if c.Flagged < 0 || c.Flagged > c.Notes || c.Notes > v.notes || c.Findings < 0 || c.Findings > c.Opportunities {
			return fmt.Errorf("counts of %s by %s cannot be: want flagged ≤ notes and findings ≤ opportunities, none below 0", scope, dim)
		}
		v.cells[i] = c
	}
	return t.setTold(v, pv.Told)
}
