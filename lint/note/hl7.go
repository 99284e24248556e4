package note

import (
	"errors"
	"slices"

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

	withdrawn []Withdrawal
}

// An entry is a note, or a fault in the place of one.
type entry struct {
	record
	fault *decode.Fault
	gone  bool // replaced or withdrawn by a later message
}

// known are the numbers by which the document of an entry may be known elsewhere.
func (e *entry) known() []string { return append([]string{e.fields[idField]}, e.numbers...) }

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
			m.take(n, at)
		}
	}
}

func (m *messages) take(n hl7.Note, at map[string]int) {
	if n.Cancels != "" {
		w := Withdrawal{Resident: n.Fields["resident"], Numbers: []string{n.Cancels}, Line: n.Line}
		if i, ok := at[n.Cancels]; ok {
			e := &m.queue[i]
			e.gone, w.Here = true, true
			w.Resident, w.Numbers = e.fields[residentField], e.known()
		}
		m.withdrawn = append(m.withdrawn, w)
		return
	}
	e := entry{record: record{line: n.Line, fields: fieldsOf(n.Fields)}}
	number, resident := e.fields[idField], e.fields[residentField]
	if n.Replaces != "" { // it keeps the id, so that kept notes are replaced too
		e.fields[idField] = n.Replaces
		if i, ok := at[n.Replaces]; ok {
			before := &m.queue[i]
			before.gone = true
			e.fields[idField], e.numbers = before.fields[idField], slices.Clone(before.numbers)
			if of := before.fields[residentField]; of != resident { // it was filed under somebody else
				m.withdrawn = append(m.withdrawn, Withdrawal{Resident: of, Numbers: before.known(), Line: n.Line, Here: true})
			}
		}
		if number != "" {
			e.numbers = append(e.numbers, number)
		}
	}
	m.withdrawn = slices.DeleteFunc(m.withdrawn, func(w Withdrawal) bool { // it is sent anew
		return w.Resident == resident && slices.Contains(w.Numbers, number)
	})
	if number != "" {
		at[number] = len(m.queue)
	}
	m.queue = append(m.queue, e)
}
