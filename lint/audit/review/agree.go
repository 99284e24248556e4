package review

import (
	"fmt"
	"math"
	"slices"

	"example.com/stance/lint/audit"
	"example.com/stance/lint/audit/stat"
	"example.com/stance/lint/report"
)

// An Agreement is how far the program and the person who marked agree. Its JSON form is the published
// one. Shares are from 0 to 1.
type Agreement struct {
	Version string       `json:"version"` // of the program that judged
	Charted bool         `json:"charted"`
	Policy  audit.Policy `json:"policy"`
	Names   audit.Names  `json:"names"`
	Seed    string       `json:"seed"`
	By      By           `json:"by"`

	Rows    int `json:"rows"`    // of the sample
	Marked  int `json:"marked"`  // yes or no
	Unclear int `json:"unclear"` // left out of the figures
	Blank   int `json:"blank"`   // not marked, left out
	Gaps    int `json:"gaps"`    // opportunities in shifts with no note, left out

	All           Scope             `json:"all"`    // of the strata drawn from
	Strata        []Scope           `json:"strata"` // in the order of the published tables
	NotIn         []string          `json:"not_in"` // strata that were not drawn from
	Disagreements []Disagreement    `json:"disagreements"`
	Method        []audit.Paragraph `json:"method"`
	Caution       string            `json:"caution"`
}

// A Scope is the agreement in one stratum or in all of them. The estimates are weighted back to all
// pairs of a note and a rule in it.
type Scope struct {
	Label       string    `json:"label"`
	Population  int       `json:"population"`
	Cells       Cells     `json:"marked"`
	Sensitivity *Estimate `json:"sensitivity"` // null: the marks do not tell
	Specificity *Estimate `json:"specificity"`
	PPV         *Estimate `json:"positive_predictive_value"`
	NPV         *Estimate `json:"negative_predictive_value"`
	Kappa       *Estimate `json:"kappa"`        // of the population
	SampleKappa *Estimate `json:"sample_kappa"` // of the marked rows as they are, half of them flagged by design
}

// Cells counts marked rows.
type Cells struct {
	BothYes int `json:"both_yes"`
	Program int `json:"program_only"`
	Person  int `json:"person_only"`
	BothNo  int `json:"both_no"`
}

// An Estimate is a figure with its interval.
type Estimate struct {
	Value float64 `json:"value"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
}

// A Disagreement is a row on which the program and the person differ.
type Disagreement struct {
	Row      string `json:"row"`
	Line     int    `json:"line"` // of the sheet
	Rule     string `json:"rule"`
	Resident string `json:"resident"`
	Note     string `json:"note"`
	Flagged  bool   `json:"flagged"` // by the program; the person says otherwise
	Remark   string `json:"remark"`
}

// Agree holds the marks against the verdicts. A row that is not of the sample, or marked twice, is an
// error that names its line.
func Agree(s *Sealed, marks []MarkedRow) (*Agreement, error) {
	out := &Agreement{
		Version: s.Version, Charted: s.Charted, Policy: s.Policy, Names: s.Names, Seed: s.Seed, By: s.By,
		Rows: len(s.Rows), Gaps: s.Gaps, NotIn: append([]string{}, s.NotIn...), Disagreements: []Disagreement{},
		Method: method(), Caution: report.Caution,
	}
	verdicts := make(map[string]SealedRow)
	for _, r := range s.Rows {
		verdicts[r.ID] = r
	}
	cells := make(map[string]*Cells)
	lines := make(map[string]int)
	for _, m := range marks {
		v, ok := verdicts[m.ID]
		if !ok {
			return nil, fmt.Errorf("line %d: the row is not of this sample, want the sheet and the sealed file of one sample", m.Line)
		}
		if first, twice := lines[m.ID]; twice {
			return nil, fmt.Errorf("line %d: the row stands on line %d too, want it once", m.Line, first)
		}
		lines[m.ID] = m.Line
		switch m.Mark {
		case Unclear:
			out.Unclear++
			continue
		case NoMark:
			continue
		}
		out.Marked++
		if cells[v.Stratum] == nil {
			cells[v.Stratum] = &Cells{}
		}
		cells[v.Stratum].add(v.Flagged, m.Mark == Yes)
		if v.Flagged != (m.Mark == Yes) {
			out.Disagreements = append(out.Disagreements, Disagreement{m.ID, m.Line, v.Rule, v.Resident, v.Note, v.Flagged, m.Remark})
		}
	}
	out.Blank = out.Rows - out.Marked - out.Unclear
	slices.SortStableFunc(out.Disagreements, func(a, b Disagreement) int { return a.Line - b.Line })

	var all []stat.Stratum
	var sum Cells
	for i := 0; i < len(s.Strata); {
		label := s.Strata[i].Label
		c := cells[label]
		if c == nil {
			c = &Cells{}
		}
		var halves []stat.Stratum
		for ; i < len(s.Strata) && s.Strata[i].Label == label; i++ {
			halves = append(halves, c.half(s.Strata[i]))
		}
		out.Strata = append(out.Strata, scope(label, *c, halves))
		all = append(all, halves...)
		sum = sum.plus(*c)
	}
	out.All = scope(audit.ScopeAll, sum, all)
	return out, nil
}

func (c *Cells) add(program, person bool) {
	switch {
	case program && person:
		c.BothYes++
	case program:
		c.Program++
	case person:
		c.Person++
	default:
		c.BothNo++
	}
}

func (c Cells) plus(o Cells) Cells {
	return Cells{c.BothYes + o.BothYes, c.Program + o.Program, c.Person + o.Person, c.BothNo + o.BothNo}
}

// half is the marks of one half of a stratum.
func (c Cells) half(s Stratum) stat.Stratum {
	out := stat.Stratum{Label: s.Label, Flagged: s.Flagged, Population: s.Population, Marked: c.Person + c.BothNo, Positive: c.Person}
	if s.Flagged {
		out.Marked, out.Positive = c.BothYes+c.Program, c.BothYes
	}
	return out
}

func scope(label string, c Cells, strata []stat.Stratum) Scope {
	out := Scope{Label: label, Cells: c}
	for _, s := range strata {
		out.Population += s.Population
	}
	acc := stat.Diagnostic(strata, audit.Level)
	out.Sensitivity, out.Specificity = known(acc.Sensitivity), known(acc.Specificity)
	out.PPV, out.NPV, out.Kappa = known(acc.PPV), known(acc.NPV), known(acc.Kappa)
	if k, iv := stat.Kappa(c.BothYes, c.Program, c.Person, c.BothNo); !math.IsNaN(k) {
		out.SampleKappa = &Estimate{k, iv.Low, iv.High}
	}
	return out
}

func known(e stat.Estimate) *Estimate {
	if !e.Known {
		return nil
	}
	return &Estimate{e.Value, e.Interval.Low, e.Interval.High}
}

func method() []audit.Paragraph {
	return []audit.Paragraph{
		{Title: "What is compared", Words: "Pairs of a note and a rule that could have spoken there: did the program flag it, and does the person " +
			"say that what the rule looks for is there. Where one rule gives way to another, the note counts as not flagged by it."},
		{Title: "Weights", Words: fmt.Sprintf("Flagged pairs and others were drawn apart, so each marked row stands for as many pairs as its half of the "+
			"stratum has for each row marked. Rows unclear or not marked are taken to be like the others of their half. Intervals are at %g %% "+
			"and about the notes drawn from: where all of them were marked, they have no width.", 100*audit.Level),
			Source: "Begg and Greenes, Assessment of diagnostic tests when disease verification is subject to selection bias, Biometrics 39 (1983) 207; " +
				"Zou and Donner, Construction of confidence limits about effect measures, Statistics in Medicine 27 (2008) 1693"},
		{Title: "Kappa", Words: "Agreement beyond chance: 1 is full, 0 as much as chance gives. It falls where what is looked for is rare, so it is given " +
			"for all pairs (weighted) and for the marked rows as they are.",
			Source: "Cohen, A coefficient of agreement for nominal scales, Educational and Psychological Measurement 20 (1960) 37"},
		{Title: "What this does not tell", Words: "Pairs where the program saw no opportunity were not drawn, so what it fails to recognise as a move, " +
			"a fall or a status is not in the sensitivity. One person's marks are one person's view."},
	}
}
