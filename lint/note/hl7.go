package note

import (
	"errors"

	"example.com/stance/lint/internal/decode"
	"example.com/stance/lint/internal/hl7"
)

// messages reads HL7 v2. A later message may replace or withdraw the note of an earlier one, so that all of a file are
// read before the first is given.
type messages struct {
	in     *hl7.Reader
	read   bool
	queue  []entry
	end    error // after the queue
	passed map[string]int
}

// An entry is a note, or a fault in the place of one.
type entry struct {
	record
	fault *decode.Fault
	gone  bool // replaced or withdrawn by a later message
}

func (m *messages) next() (record, error) {
	if !m.read {
		m.read = true
		m.all()
	}
	for len(m.queue) > 0 {
		first := m.queue[0]
		m.queue = m.queue[1:]
		switch {
		case first.fault != nil:
			return record{}, first.fault
		case !first.gone:
			return first.record, nil
		}
	}
	return record{}, m.end
}

// all reads the file.
func (m *messages) all() {
	at := make(map[string]int) // of a document's newest version in the queue, by its numbers
	for {
		msg, err := m.in.Next()
		var notes []hl7.Note
		var unread string
		if err == nil {
			notes, unread, err = msg.Notes()
		}
		var f *decode.Fault
		switch {
		case errors.As(err, &f):
			m.queue = append(m.queue, entry{fault: f})
			continue
		case err != nil:
			m.end = err
			return
		case unread != "":
			m.passed[unread]++
		}
		for _, n := range notes {
			m.take(n, msg.Kind, at)
		}
	}
}

func (m *messages) take(n hl7.Note, kind string, at map[string]int) {
	if n.Cancels != "" {
		if i, ok := at[n.Cancels]; ok {
			m.queue[i].gone = true
		} else {
			m.passed[kind+" (of a document that is not here)"]++
		}
		return
	}
	given := fieldsOf(n.Fields)
	number := given[idField]
	if n.Replaces != "" { // it keeps the id, so that kept notes are replaced too
		given[idField] = n.Replaces
		if i, ok := at[n.Replaces]; ok && !m.queue[i].gone {
			m.queue[i].gone = true
			given[idField] = m.queue[i].fields[idField]
		}
	}
	if number != "" {
		at[number] = len(m.queue)
	}
	m.queue = append(m.queue, entry{record: record{line: n.Line, fields: given}})
}
