package audit

import (
	"encoding/json"
	"io"

	"example.com/stance/lint/audit/stat"
)

// JSON writes the report as one object.
func JSON(w io.Writer, r *Report) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	return enc.Encode(r)
}

// MarshalJSON is the published form of a chart. A point with no rate has a null value.
func (c Chart) MarshalJSON() ([]byte, error) {
	type signal struct {
		Rule  string `json:"rule"`
		Words string `json:"words"`
	}
	type point struct {
		Label   string     `json:"label"`
		Events  int        `json:"events"`
		N       int        `json:"n"`
		State   stat.State `json:"state"`
		Value   *float64   `json:"value"`
		Low     *float64   `json:"low"`
		High    *float64   `json:"high"`
		Signals []signal   `json:"signals"`
	}
	points := make([]point, len(c.Chart.Points))
	for i, p := range c.Chart.Points {
		points[i] = point{Label: p.Label, Events: p.Events, N: p.N, State: p.State, Signals: []signal{}}
		if p.State != stat.Empty {
			points[i].Value, points[i].Low, points[i].High = &p.Value, &p.Low, &p.High
		}
		for _, s := range p.Signals {
			points[i].Signals = append(points[i].Signals, signal(s))
		}
	}
	return json.Marshal(struct {
		Scope   string    `json:"scope"`
		Measure string    `json:"measure"`
		Kind    stat.Kind `json:"kind"`
		Why     string    `json:"why"` // the kind
		Centre  float64   `json:"centre"`
		Words   string    `json:"words"`
		Points  []point   `json:"points"`
	}{c.Scope, c.Measure, c.Chart.Kind, c.Chart.Why, c.Chart.Centre, c.Words, points})
}

// MarshalJSON is the published form of a funnel plot. A unit with no rate has a null value.
func (f Funnel) MarshalJSON() ([]byte, error) {
	type limits struct {
		Low  float64 `json:"low"`
		High float64 `json:"high"`
	}
	type unit struct {
		Label   string       `json:"label"`
		Events  int          `json:"events"`
		N       int          `json:"n"`
		Value   *float64     `json:"value"`
		Inner   limits       `json:"limits_95"`
		Outer   limits       `json:"limits_99_8"`
		Verdict stat.Verdict `json:"verdict"`
	}
	units := make([]unit, len(f.Plot.Units))
	for i, u := range f.Plot.Units {
		units[i] = unit{Label: u.Label, Events: u.Events, N: u.N, Inner: limits(u.Inner), Outer: limits(u.Outer), Verdict: u.Verdict}
		if u.Verdict != stat.NoChances {
			units[i].Value = &u.Value
		}
	}
	return json.Marshal(struct {
		Scope  string  `json:"scope"`
		Centre float64 `json:"centre"`
		Words  string  `json:"words"`
		Units  []unit  `json:"units"`
	}{f.Scope, f.Plot.Centre, f.Words, units})
}
