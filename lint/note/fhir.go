package note

import "example.com/stance/lint/internal/fhir"

// resources reads FHIR R4: what people wrote in the resources of a Bundle, or of a file with one a line. Resources
// without words are counted by type.
type resources struct {
	in     *fhir.Reader
	queue  []fhir.Note // of the resource read last
	passed map[string]int
}

func (r *resources) next() (record, error) {
	for len(r.queue) == 0 {
		res, err := r.in.Next()
		if err != nil {
			return record{}, err
		}
		notes, unread, err := res.Notes()
		if err != nil {
			return record{}, err
		}
		if unread != "" {
			r.passed[unread]++
		}
		r.queue = notes
	}
	n := r.queue[0]
	r.queue = r.queue[1:]
	return record{line: n.Line, fields: fieldsOf(n.Fields), ref: n.Ref}, nil
}

// fieldsOf are the fields that are given by name.
func fieldsOf(named map[string]string) fields {
	var given fields
	for name, value := range named {
		if f, ok := fieldNamed(name); ok {
			given[f] = value
		}
	}
	return given
}
