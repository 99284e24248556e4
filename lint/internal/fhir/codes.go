package fhir

import (
	"cmp"
	"encoding/json"
	"strings"
)

// A Coded is one code that a resource gives for a resident, with the time from which it holds.
type Coded struct {
	Resident, Unit, By string
	Code               string // "system|code"
	Value              string // of an Observation beside the code: a figure, a string, or empty
	From, Until        string // as FHIR writes them; Until may be empty
	Line               int
}

// Codes are the codes of the resource that may state what a resident is charted with: of a ServiceRequest, CarePlan,
// Observation or Flag that is in force or was. unread is the type where it is none of these, or is not in force.
func (res *Resource) Codes() (codes []Coded, unread string, err error) {
	switch res.Type {
	case "ServiceRequest":
		codes, err = res.serviceRequest()
	case "CarePlan":
		codes, err = res.carePlan()
	case "Observation":
		codes, err = res.coded()
	case "Flag":
		codes, err = res.flag()
	default:
		if Helping(res.Type) {
			return nil, "", nil
		}
		return nil, res.Type, nil
	}
	if err == nil && len(codes) == 0 {
		unread = res.Type
	}
	return codes, unread, err
}

// held reports whether a status says that a thing is in force, or was until it was completed or ended.
func held(status string) bool {
	switch status {
	case "active", "completed", "final", "amended", "corrected", "inactive", "in-progress", "scheduled", "not-started", "":
		return true
	}
	return false
}

func (c Coded) each(concepts ...concept) []Coded {
	var list []Coded
	for _, con := range concepts {
		for _, code := range con.Coding {
			if code.Code == "" {
				continue
			}
			one := c
			one.Code = code.System + "|" + code.Code
			list = append(list, one)
		}
	}
	return list
}

func (res *Resource) serviceRequest() ([]Coded, error) {
	var r struct {
		common
		Not        bool        `json:"doNotPerform"`
		Code       concept     `json:"code"`
		Detail     []concept   `json:"orderDetail"`
		When       string      `json:"occurrenceDateTime"`
		Period     period      `json:"occurrencePeriod"`
		AuthoredOn string      `json:"authoredOn"`
		Requester  reference   `json:"requester"`
		Place      []reference `json:"locationReference"`
	}
	if err := res.read(&r); err != nil || r.Not || !held(r.Status) {
		return nil, err
	}
	c := Coded{
		Resident: res.key(r.Subject), By: res.shown(r.Requester), Line: res.Line,
		From: cmp.Or(r.Period.Start, r.When, r.AuthoredOn), Until: r.Period.End,
		Unit: cmp.Or(res.place(firstOf(r.Place)), res.unit(r.Encounter)),
	}
	return c.each(append([]concept{r.Code}, r.Detail...)...), nil
}

func (res *Resource) carePlan() ([]Coded, error) {
	var r struct {
		common
		Category []concept `json:"category"`
		Period   period    `json:"period"`
		Created  string    `json:"created"`
		Author   reference `json:"author"`
		Activity []struct {
			Detail struct {
				Status string  `json:"status"`
				Not    bool    `json:"doNotPerform"`
				Code   concept `json:"code"`
				Period period  `json:"scheduledPeriod"`
			} `json:"detail"`
		} `json:"activity"`
	}
	if err := res.read(&r); err != nil || !held(r.Status) {
		return nil, err
	}
	c := Coded{
		Resident: res.key(r.Subject), By: res.shown(r.Author), Unit: res.unit(r.Encounter), Line: res.Line,
		From: cmp.Or(r.Period.Start, r.Created), Until: r.Period.End,
	}
	codes := c.each(r.Category...)
	for _, a := range r.Activity {
		if a.Detail.Not || !held(a.Detail.Status) {
			continue
		}
		one := c
		one.From, one.Until = cmp.Or(a.Detail.Period.Start, c.From), cmp.Or(a.Detail.Period.End, c.Until)
		codes = append(codes, one.each(a.Detail.Code)...)
	}
	return codes, nil
}

// value is what an Observation, or a component of it, says.
type value struct {
	Code     concept      `json:"code"`
	Concept  concept      `json:"valueCodeableConcept"`
	String   string       `json:"valueString"`
	Integer  *json.Number `json:"valueInteger"`
	Quantity struct {
		Value *json.Number `json:"value"`
	} `json:"valueQuantity"`
}

// codes are the code with its value, and the coded values.
func (v value) codes(c Coded) []Coded {
	c.Value = v.String
	for _, n := range []*json.Number{v.Integer, v.Quantity.Value} {
		if n != nil {
			c.Value = n.String()
		}
	}
	if c.Value == "" {
		for _, code := range v.Concept.Coding {
			c.Value = cmp.Or(c.Value, code.Code)
		}
	}
	codes := c.each(v.Code)
	c.Value = ""
	return append(codes, c.each(v.Concept)...)
}

func (res *Resource) coded() ([]Coded, error) {
	var r struct {
		common
		value
		Effective string          `json:"effectiveDateTime"`
		Instant   string          `json:"effectiveInstant"`
		Period    period          `json:"effectivePeriod"`
		Issued    string          `json:"issued"`
		Performer many[reference] `json:"performer"`
		Component []value         `json:"component"`
	}
	if err := res.read(&r); err != nil || !held(r.Status) {
		return nil, err
	}
	c := Coded{
		Resident: res.key(r.Subject), By: res.shown(firstOf(r.Performer)), Unit: res.unit(r.Encounter), Line: res.Line,
		From: cmp.Or(r.Effective, r.Instant, r.Period.Start, r.Issued), Until: r.Period.End,
	}
	codes := r.codes(c)
	for _, part := range r.Component {
		codes = append(codes, part.codes(c)...)
	}
	return codes, nil
}

func (res *Resource) flag() ([]Coded, error) {
	var r struct {
		common
		Code   concept   `json:"code"`
		Period period    `json:"period"`
		Author reference `json:"author"`
	}
	if err := res.read(&r); err != nil || !held(r.Status) {
		return nil, err
	}
	if r.Status == "inactive" && r.Period.End == "" {
		return nil, nil // it holds no longer, and there is no telling since when
	}
	c := Coded{
		Resident: res.key(r.Subject), By: res.shown(r.Author), Unit: res.unit(r.Encounter), Line: res.Line,
		From: r.Period.Start, Until: r.Period.End,
	}
	return c.each(r.Code), nil
}

// shown is who charted something, as people read it: a job title rather than a name, a name rather than a number.
func (res *Resource) shown(ref reference) string {
	return strings.TrimSpace(cmp.Or(res.title(ref), ref.Display, res.key(ref)))
}
