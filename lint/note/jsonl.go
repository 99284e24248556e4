package note

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"

	"example.com/stance/lint/internal/decode"
)

// lines reads JSON Lines: one object a line. Keys that are no field are passed over.
type lines struct {
	text   *decode.Text
	home   string  // key of the note's home; empty: not asked for
	survey *Survey // or nil
}

func newLines(text *decode.Text, sample []byte, home string, survey *Survey) (source, error) {
	if sample[0] == '[' {
		return nil, &decode.Fault{Line: 1, Want: "one JSON object a line, not a list"}
	}
	return &lines{text, home, survey}, nil
}

func (l *lines) next() (record, error) {
	for {
		line, err := l.text.Line(MaxRecord)
		if err != nil {
			return record{}, err
		}
		if line.Blank() {
			continue
		}
		utf8, err := l.text.Decode(line.Number, line.Bytes)
		if err != nil {
			return record{}, err
		}
		if l.survey != nil {
			var object map[string]json.RawMessage
			if json.Unmarshal([]byte(utf8[0]), &object) == nil { // else it is told below
				l.survey.columns(slices.Sorted(maps.Keys(object)), nil)
			}
		}
		if given, home, ok := scan(utf8[0], l.home); ok {
			return record{line: line.Number, fields: given, home: home}, nil
		}
		given, home, want := parseObject([]byte(utf8[0]), l.home)
		if want != "" {
			return record{}, &decode.Fault{Line: line.Number, Want: want}
		}
		return record{line: line.Number, fields: given, home: home}, nil
	}
}

// parseObject reads the fields of one JSON object, whatever it is like, and what it has under the key of the home. The
// last string says what was wanted where it is none.
func parseObject(data []byte, homeKey string) (given fields, home, want string) {
	var object map[string]json.RawMessage
	if err := json.Unmarshal(data, &object); err != nil || object == nil {
		var syntax *json.SyntaxError
		if errors.As(err, &syntax) { // its text would quote the note
			return given, "", fmt.Sprintf("one JSON object a line; byte %d does not fit", syntax.Offset)
		}
		return given, "", "one JSON object a line"
	}
	if twice, ok := repeated(data, homeKey); ok {
		return given, "", fmt.Sprintf("%q once in a note", twice)
	}
	for f := range fieldCount {
		value, ok := scalar(object[f.String()])
		if !ok {
			return given, "", fmt.Sprintf("%q as a string", f.String())
		}
		given[f] = value
	}
	if homeKey == "" {
		return given, "", ""
	}
	home, ok := scalar(object[homeKey])
	if !ok {
		return given, "", fmt.Sprintf("%q as a string", homeKey)
	}
	return given, home, ""
}

// repeated is the first field that a JSON object, which data must be, gives twice, however its name is
// written: with two residents there is no telling whose note it is.
func repeated(data []byte, homeKey string) (string, bool) {
	if homeKey == "" && !mayRepeat(data) {
		return "", false
	}
	given := make(map[string]bool)
	dec := json.NewDecoder(bytes.NewReader(data))
	if _, err := dec.Token(); err != nil { // the opening brace
		return "", false
	}
	for dec.More() {
		key, err := dec.Token()
		name, ok := key.(string)
		var value json.RawMessage
		if err != nil || !ok || dec.Decode(&value) != nil {
			return "", false
		}
		if given[name] && (name == homeKey || slices.Contains(fieldNames(), name)) {
			return name, true
		}
		given[name] = true
	}
	return "", false
}

// mayRepeat reports whether a look at every name is called for. Most notes have each field's name once,
// as a key, and no name with an escape in it, which a letter of a field may be written by.
func mayRepeat(data []byte) bool {
	if bytes.Contains(data, []byte(`\u00`)) {
		return true
	}
	return slices.ContainsFunc(fieldNames(), func(f string) bool { return bytes.Count(data, []byte(`"`+f+`"`)) > 1 })
}

// scalar is the text of a JSON string, or of a number as written, since many exports have numbers
// for ids; empty for null and for a field that is not there.
func scalar(raw json.RawMessage) (string, bool) {
	raw = bytes.TrimSpace(raw)
	switch {
	case len(raw) == 0, string(raw) == "null":
		return "", true
	case raw[0] == '"':
		var s string
		err := json.Unmarshal(raw, &s)
		return s, err == nil
	case raw[0] == '-', raw[0] >= '0' && raw[0] <= '9':
		return string(raw), true
	}
	return "", false
}
