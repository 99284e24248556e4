// Package fhir reads what stance uses of FHIR R4 (4.0.1) in JSON: a Bundle, one resource, or resources one a line, as
// Bulk Data gives them. A [Reader] gives one resource after another with its line; [Resource.Notes] is what was written
// in it, and [Resource.Codes] what it codes of a resident's status.
//
// The structs have only the fields that are read. A whole model of R4 would refuse a resource for a code that nobody
// asks for.
package fhir

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"example.com/stance/lint/internal/decode"
)

// MaxDocument is the most bytes that a Bundle, or a line of a file with a resource a line, may have: references in a
// Bundle point forwards and backwards, so it is held whole.
const MaxDocument = 64 << 20

// MaxResource is the most bytes that one resource in a Bundle may have.
const MaxResource = 4 << 20

// deepest is how far Bundles may lie in Bundles.
const deepest = 4

// Is reports whether a text that starts with the sample is FHIR: its first JSON object has a resource type, or the
// entries of a Bundle before it.
func Is(sample []byte) bool {
	dec := json.NewDecoder(bytes.NewReader(sample))
	if t, err := dec.Token(); err != nil || t != json.Delim('{') {
		return false
	}
	for dec.More() {
		key, err := dec.Token()
		if err != nil || key == "resourceType" {
			return err == nil
		}
		value, err := dec.Token()
		if err != nil || key == "entry" && value == json.Delim('[') {
			return err == nil
		}
		if value == json.Delim('{') || value == json.Delim('[') {
			if !leave(dec) {
				return false
			}
		}
	}
	return false
}

// leave reads on to the end of the list or object that was just entered; false where the text ends before.
func leave(dec *json.Decoder) bool {
	for depth := 1; depth > 0; {
		t, err := dec.Token()
		if err != nil {
			return false
		}
		switch t {
		case json.Delim('{'), json.Delim('['):
			depth++
		case json.Delim('}'), json.Delim(']'):
			depth--
		}
	}
	return true
}

// A Reader gives the resources of one file. It is not safe for concurrent use.
type Reader struct {
	text  *decode.Text
	queue []*Resource   // of the Bundle being read
	fault *decode.Fault // that ends the Bundle being read
	began bool
	whole bool // the file is one JSON value over several lines, which has been read
}

// NewReader reads the rest of a text.
func NewReader(text *decode.Text) *Reader { return &Reader{text: text} }

// A Resource is one resource, but for Bundles, whose resources are given instead.
type Resource struct {
	Type string
	ID   string
	Line int // of the file, on which it starts

	raw   json.RawMessage
	scope scope
}

// Next reads the next resource; io.EOF after the last. A *decode.Fault is one that cannot be read, after which Next may
// be called again.
func (r *Reader) Next() (*Resource, error) {
	for {
		if len(r.queue) > 0 {
			res := r.queue[0]
			r.queue = r.queue[1:]
			return res, nil
		}
		if f := r.fault; f != nil {
			r.fault = nil
			return nil, f
		}
		if err := r.document(); err != nil {
			return nil, err
		}
	}
}

// document reads the next JSON value of the file into the queue.
func (r *Reader) document() error {
	line, err := r.line()
	if err != nil {
		return err
	}
	if line.Blank() {
		return nil
	}
	data, first := line.Bytes, line.Number
	if !r.began && !json.Valid(data) {
		// What is no value by itself starts one over several lines, unless another object starts on the next line.
		if data, err = r.rest(data); err != nil {
			return err
		}
	}
	r.began = true
	if !utf8.Valid(data) {
		return &decode.Fault{Line: first, Want: "UTF-8, as JSON of FHIR is"}
	}
	in := opened{line: first}
	if f := in.value(bytes.Clone(data), first, 0); f != nil {
		r.fault = f
	}
	in.link()
	r.queue = in.resources
	return nil
}

func (r *Reader) line() (decode.Line, error) {
	if r.whole {
		return decode.Line{}, io.EOF
	}
	return r.text.Line(MaxDocument)
}

// rest is the first line and all that follow, one JSON value; or the first line alone where the second starts another
// object, so that a broken line does not cost the file.
func (r *Reader) rest(first []byte) ([]byte, error) {
	sample := bytes.TrimSpace(r.text.Sample())
	if trimmed := bytes.TrimSpace(first); len(trimmed) > 1 && bytes.HasPrefix(sample, []byte("{")) && Is(sample) {
		return first, nil
	}
	r.whole = true
	data := bytes.Clone(first)
	for {
		line, err := r.text.Line(MaxDocument)
		switch {
		case err == io.EOF:
			return data, nil
		case err != nil:
			return nil, err
		case len(data)+len(line.Bytes) > MaxDocument:
			return nil, &decode.Fault{Line: line.Number, Want: fmt.Sprintf("a Bundle of at most %d MiB, or its resources one a line (NDJSON)", MaxDocument>>20)}
		}
		data = append(append(data, '\n'), line.Bytes...)
	}
}

// opened is one JSON value being taken apart into resources.
type opened struct {
	line      int // of the file, on which the value starts
	resources []*Resource
	urls      []string // the full URL of each, where a Bundle gives it
}

// head is what all resources have.
type head struct {
	ResourceType string `json:"resourceType"`
	ID           string `json:"id"`
}

// value takes one resource, which starts on the line, and what it holds. The fault says from where on it cannot be read.
func (o *opened) value(data []byte, line, depth int) *decode.Fault {
	var h head
	if err := json.Unmarshal(data, &h); err != nil {
		var syntax *json.SyntaxError
		if !errors.As(err, &syntax) || !startsBundle(data) {
			return o.syntax(err, data, line)
		}
		h.ResourceType = "Bundle" // its first entries are whole
	}
	switch {
	case h.ResourceType == "":
		return &decode.Fault{Line: line, Want: `a FHIR resource, with "resourceType"`}
	case h.ResourceType == "Bundle" && depth == deepest:
		return &decode.Fault{Line: line, Want: fmt.Sprintf("Bundles at most %d deep", deepest)}
	case h.ResourceType == "Bundle":
		return o.bundle(data, line, depth)
	}
	o.resources = append(o.resources, &Resource{Type: h.ResourceType, ID: h.ID, Line: line, raw: data})
	o.urls = append(o.urls, "")
	return nil
}

func startsBundle(data []byte) bool {
	return bytes.Contains(data[:min(len(data), 4096)], []byte(`"Bundle"`))
}

// syntax is the fault of JSON that cannot be read, with its line and without its words.
func (o *opened) syntax(err error, data []byte, line int) *decode.Fault {
	var syntax *json.SyntaxError
	if errors.As(err, &syntax) {
		at := min(max(int(syntax.Offset)-1, 0), len(data))
		return &decode.Fault{Line: line + bytes.Count(data[:at], []byte("\n")), Want: "JSON of a FHIR resource; a byte there does not fit, or the end is missing"}
	}
	var kind *json.UnmarshalTypeError
	if errors.As(err, &kind) && kind.Field != "" {
		field := strings.TrimPrefix(strings.TrimPrefix(kind.Field, "common."), "value.") // of the structs, not of FHIR
		return &decode.Fault{Line: line, Want: fmt.Sprintf("%q as FHIR R4 has it, not as %s", field, kind.Value)}
	}
	return &decode.Fault{Line: line + bytes.Count(data, []byte("\n")), Want: "JSON of a FHIR resource; the end is missing"}
}

// bundle takes the entries one by one, so that those before a broken one are kept.
func (o *opened) bundle(data []byte, line, depth int) *decode.Fault {
	dec := json.NewDecoder(bytes.NewReader(data))
	if _, err := dec.Token(); err != nil {
		return o.syntax(err, data, line)
	}
	for dec.More() {
		key, err := dec.Token()
		if err != nil {
			return o.syntax(err, data, line)
		}
		if key != "entry" {
			var skipped json.RawMessage
			if err := dec.Decode(&skipped); err != nil {
				return o.syntax(err, data, line)
			}
			continue
		}
		if t, err := dec.Token(); err != nil || t != json.Delim('[') {
			return &decode.Fault{Line: line, Want: `"entry" of a Bundle as a list`}
		}
		if f := o.entries(dec, data, line, depth); f != nil {
			return f
		}
	}
	if _, err := dec.Token(); err != nil {
		return o.syntax(err, data, line)
	}
	return nil
}

func (o *opened) entries(dec *json.Decoder, data []byte, line, depth int) *decode.Fault {
	var faults *decode.Fault
	counted, at := 0, line
	for dec.More() {
		var entry struct {
			FullURL  string          `json:"fullUrl"`
			Resource json.RawMessage `json:"resource"`
		}
		var raw json.RawMessage
		if err := dec.Decode(&raw); err != nil {
			return o.syntax(err, data, line)
		}
		start := int(dec.InputOffset()) - len(raw)
		at += bytes.Count(data[counted:start], []byte("\n"))
		counted = start
		if err := json.Unmarshal(raw, &entry); err != nil || len(entry.Resource) == 0 {
			continue // an entry may have a response only
		}
		had := len(o.resources)
		switch {
		case len(entry.Resource) > MaxResource && !startsBundle(entry.Resource):
			faults = first(faults, &decode.Fault{Line: at, Want: fmt.Sprintf("a resource of at most %d bytes", MaxResource)})
		default:
			faults = first(faults, o.value(entry.Resource, at, depth+1))
		}
		if len(o.resources) == had+1 && entry.FullURL != "" {
			o.urls[had] = entry.FullURL
		}
	}
	if _, err := dec.Token(); err != nil {
		return first(faults, o.syntax(err, data, line))
	}
	return faults
}

func first(a, b *decode.Fault) *decode.Fault {
	if a != nil {
		return a
	}
	return b
}

// link lets each resource find those that it refers to.
func (o *opened) link() {
	s := scope{byRef: make(map[string]*Resource), titles: make(map[string]string)}
	for i, res := range o.resources {
		res.scope = s
		if !Helping(res.Type) {
			continue
		}
		s.add(o.urls[i], res)
		if res.ID != "" {
			s.add(res.Type+"/"+res.ID, res)
		}
		var n named
		if res.Type != "PractitionerRole" || json.Unmarshal(res.raw, &n) != nil || len(n.Code) == 0 {
			continue
		}
		if who := n.Practitioner.Reference; s.titles[who] == "" {
			s.titles[who] = n.Code[0].words()
		}
	}
}

// Helping reports whether resources of a type are looked at only where another refers to them.
func Helping(kind string) bool {
	switch kind {
	case "Patient", "Practitioner", "PractitionerRole", "RelatedPerson", "Encounter", "Location", "Organization", "Device":
		return true
	}
	return false
}

// A scope is what the resources of one document may refer to.
type scope struct {
	byRef  map[string]*Resource // by full URL, and by type and id
	titles map[string]string    // of practitioners, by the reference to them in a PractitionerRole
}

// add leaves out a key that two have: there is no telling which is meant.
func (s scope) add(key string, res *Resource) {
	if old, twice := s.byRef[key]; twice && old != res {
		res = nil
	}
	if key != "" {
		s.byRef[key] = res
	}
}

// find is the resource that a reference of this one points to, in the same document; nil where there is none.
func (res *Resource) find(ref string) *Resource {
	if name, local := strings.CutPrefix(ref, "#"); local {
		var holder struct {
			Contained []json.RawMessage `json:"contained"`
		}
		if json.Unmarshal(res.raw, &holder) != nil {
			return nil
		}
		for _, raw := range holder.Contained {
			var h head
			if json.Unmarshal(raw, &h) == nil && h.ID == name {
				return &Resource{Type: h.ResourceType, Line: res.Line, raw: raw, scope: res.scope}
			}
		}
		return nil
	}
	ref, _, _ = strings.Cut(ref, "/_history/")
	return res.scope.byRef[ref]
}
