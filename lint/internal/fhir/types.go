package fhir

import (
	"bytes"
	"encoding/json"
)

// many is a field that is a list in some resources and a single value in others.
type many[T any] []T

func (m *many[T]) UnmarshalJSON(data []byte) error {
	if trimmed := bytes.TrimSpace(data); len(trimmed) > 0 && trimmed[0] == '[' {
		var list []T
		err := json.Unmarshal(data, &list)
		*m = list
		return err
	}
	var one T
	if err := json.Unmarshal(data, &one); err != nil {
		return err
	}
	*m = many[T]{one}
	return nil
}

type identifier struct {
	Type  concept `json:"type"`
	Value string  `json:"value"`
}

type reference struct {
	Reference  string     `json:"reference"`
	Type       string     `json:"type"`
	Identifier identifier `json:"identifier"`
	Display    string     `json:"display"`
}

type concept struct {
	Coding []coding `json:"coding"`
	Text   string   `json:"text"`
}

type coding struct {
	System  string `json:"system"`
	Code    string `json:"code"`
	Display string `json:"display"`
}

type period struct {
	Start string `json:"start"`
	End   string `json:"end"`
}

type attachment struct {
	ContentType string `json:"contentType"`
	Data        string `json:"data"`
	Creation    string `json:"creation"`
}

type narrative struct {
	Div string `json:"div"`
}

type annotation struct {
	AuthorReference *reference `json:"authorReference"`
	AuthorString    string     `json:"authorString"`
	Time            string     `json:"time"`
	Text            string     `json:"text"`
}

// named is what the resources that others refer to are asked for.
type named struct {
	Identifier    many[identifier] `json:"identifier"`
	Code          many[concept]    `json:"code"` // of a PractitionerRole
	Practitioner  reference        `json:"practitioner"`
	Qualification []struct {
		Code concept `json:"code"`
	} `json:"qualification"`
}
