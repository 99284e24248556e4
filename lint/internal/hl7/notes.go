package hl7

import (
	"cmp"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"regexp"
	"strings"

	"example.com/stance/lint/internal/decode"
	"example.com/stance/lint/internal/markup"
)

// A Note is one note of a message, by the names that notes have in files; or that one is no longer to be had.
type Note struct {
	Fields   map[string]string
	Line     int
	Replaces string // the id of the document whose place it takes (MDM^T10)
	Cancels  string // the id of a document that is withdrawn (MDM^T11); then the only field is the resident, where it is given
}

// Notes are what somebody wrote in the message. Where there is nothing, unread says what was passed over: the type of
// the message, and why, as in "MDM^T02 (ED, PDF)".
func (m *Message) Notes() (notes []Note, unread string, err error) {
	switch m.Kind {
	case "MDM^T02", "MDM^T06", "MDM^T10":
		return m.document()
	case "MDM^T11":
		txa := m.find("TXA")
		if txa == nil || m.number(txa.field(12)) == "" {
			return nil, "", m.fault(m.Line, "the number of the document in TXA-12")
		}
		n := Note{Line: m.Line, Cancels: m.number(txa.field(12))}
		if m.find("PID") != nil {
			if n.Fields, err = m.about(); err != nil {
				return nil, "", err
			}
		}
		return []Note{n}, "", nil
	case "ORU^R01":
		return m.observations()
	}
	return nil, m.Kind, nil
}

func (m *Message) fault(line int, want string) error {
	if m.ID != "" {
		want += fmt.Sprintf(" (message %s)", printable(m.ID))
	}
	return &decode.Fault{Line: line, Want: want}
}

// about are the fields that PID and PV1 give.
func (m *Message) about() (map[string]string, error) {
	pid := m.find("PID")
	if pid == nil {
		return nil, m.fault(m.Line, "a PID segment")
	}
	resident := ""
	for _, id := range m.repeats(pid.field(3)) {
		number := m.component(id, 1)
		if resident == "" || m.component(id, 5) == "MR" && number != "" {
			resident = number
		}
		if m.component(id, 5) == "MR" && number != "" {
			break
		}
	}
	if resident = cmp.Or(resident, m.component(pid.field(2), 1)); resident == "" {
		return nil, m.fault(pid.line, "the resident's number in PID-3")
	}
	fields := map[string]string{"resident": resident}
	if pv1 := m.find("PV1"); pv1 != nil {
		fields["unit"] = m.component(pv1.field(3), 1)
	}
	return fields, nil
}

// document is the note of an MDM message.
func (m *Message) document() ([]Note, string, error) {
	txa := m.find("TXA")
	if txa == nil {
		return nil, "", m.fault(m.Line, "a TXA segment")
	}
	if status := txa.field(19); status == "CA" || status == "OB" || status == "UN" { // table 0273
		return nil, m.Kind + " (withdrawn)", nil
	}
	fields, err := m.about()
	if err != nil {
		return nil, "", err
	}
	when := txa
	at := []int{4, 6, 7}
	if evn := m.find("EVN"); evn != nil && txa.field(4)+txa.field(6)+txa.field(7) == "" {
		when, at = evn, []int{2} // when it was recorded
	}
	if fields["time"], err = m.time(when, at...); err != nil {
		return nil, "", err
	}
	who := m.repeats(cmp.Or(txa.field(9), txa.field(5)))[0]
	fields["author"], fields["role"] = m.person(who)
	fields["note"] = m.number(txa.field(12))
	text, unread, err := m.text(m.segments)
	if err != nil || unread != "" {
		return nil, unread, err
	}
	fields["text"] = text
	n := Note{Fields: fields, Line: m.Line}
	if m.Kind == "MDM^T10" {
		if n.Replaces = m.number(txa.field(13)); n.Replaces == "" {
			return nil, "", m.fault(txa.line, "the number of the document that is replaced in TXA-13")
		}
	}
	return []Note{n}, "", nil
}

// observations are the notes of an ORU message: one for each OBR with words below it.
func (m *Message) observations() ([]Note, string, error) {
	about, err := m.about()
	if err != nil {
		return nil, "", err
	}
	var notes []Note
	unread := m.Kind + " (no text)"
	for i := range m.segments {
		obr := &m.segments[i]
		if obr.name != "OBR" {
			continue
		}
		below := m.segments[i+1:]
		for j := range below {
			if below[j].name == "OBR" {
				below = below[:j]
				break
			}
		}
		text, why, err := m.text(below)
		if err != nil {
			return nil, "", err
		}
		if why != "" {
			unread = why
			continue
		}
		fields := make(map[string]string)
		for k, v := range about {
			fields[k] = v
		}
		if err := m.observed(obr, below, fields); err != nil {
			return nil, "", err
		}
		fields["text"] = text
		notes = append(notes, Note{Fields: fields, Line: obr.line})
	}
	if len(notes) > 0 {
		unread = ""
	}
	return notes, unread, nil
}

// observed are the fields that an OBR and the OBX below it give.
func (m *Message) observed(obr *segment, below []segment, fields map[string]string) error {
	when := obr
	fields["note"] = cmp.Or(m.number(obr.field(3)), m.number(obr.field(2)))
	who := m.repeats(obr.field(32))[0]
	at := []int{7, 22}
	for i := range below {
		if below[i].name != "OBX" {
			continue
		}
		who = cmp.Or(m.repeats(below[i].field(16))[0], who)
		if below[i].field(14) != "" && obr.field(7) == "" {
			when, at = &below[i], []int{14}
		}
		break
	}
	fields["author"], fields["role"] = m.person(who)
	var err error
	fields["time"], err = m.time(when, at...)
	return err
}

// number is the id in an EI, or the universal id where the first component is empty.
func (m *Message) number(ei string) string {
	ei = m.repeats(ei)[0]
	return cmp.Or(m.component(ei, 1), m.component(ei, 3))
}

// person is the id of an XCN, and the degree or suffix that is a job title.
func (m *Message) person(xcn string) (id, title string) {
	id = cmp.Or(m.component(xcn, 1), m.component(xcn, 2))
	return id, cmp.Or(m.component(xcn, 7), m.component(xcn, 21), m.component(xcn, 5))
}

// stamp is a time of HL7: date, hour and minute, and optionally seconds, their fractions and an offset.
var stamp = regexp.MustCompile(`^(\d{4})(\d\d)(\d\d)(\d\d)(\d\d)(?:(\d\d)(?:\.\d{1,4})?)?(?:([+-]\d\d)(\d\d))?$`)

// time is the first of the fields that is given, in ISO form.
func (m *Message) time(s *segment, fields ...int) (string, error) {
	for _, n := range fields {
		text := m.component(m.repeats(s.field(n))[0], 1)
		if text == "" {
			continue
		}
		t := stamp.FindStringSubmatch(text)
		if t == nil {
			return "", m.fault(s.line, fmt.Sprintf("a time as YYYYMMDDHHMM[SS][+ZZZZ] in %s-%d", s.name, n))
		}
		iso := fmt.Sprintf("%s-%s-%sT%s:%s:%s", t[1], t[2], t[3], t[4], t[5], cmp.Or(t[6], "00"))
		if t[7] != "" {
			iso += t[7] + ":" + t[8]
		}
		return iso, nil
	}
	return "", m.fault(s.line, fmt.Sprintf("a time as YYYYMMDDHHMM[SS][+ZZZZ] in %s-%d", s.name, fields[0]))
}

// text is the words of the OBX among the segments, one line each.
func (m *Message) text(segments []segment) (text, unread string, err error) {
	var lines []string
	unread = m.Kind + " (no text)"
	for i := range segments {
		obx := &segments[i]
		if obx.name != "OBX" {
			continue
		}
		if status := obx.field(11); status == "D" || status == "W" || status == "X" { // table 0085: deleted, wrong, not had
			continue
		}
		switch kind := obx.field(2); kind {
		case "TX", "FT", "ST":
			for _, part := range m.repeats(obx.field(5)) {
				words, ok := m.unescape(part)
				if !ok {
					return "", "", m.fault(obx.line, fmt.Sprintf("bytes of an escape sequence in OBX-5 in %s", m.charset))
				}
				lines = append(lines, words)
			}
		case "ED":
			words, other, want := m.encapsulated(obx.field(5))
			if want != "" {
				return "", "", m.fault(obx.line, want)
			}
			if other != "" {
				unread = fmt.Sprintf("%s (ED, %s)", m.Kind, printable(other))
				continue
			}
			lines = append(lines, words)
		}
	}
	text = strings.Join(lines, "\n")
	if strings.TrimSpace(text) == "" {
		return "", unread, nil
	}
	if strings.IndexByte(text, 0) >= 0 {
		return "", "", m.fault(m.Line, "text in OBX-5, but there is a NUL byte")
	}
	return text, "", nil
}

// encapsulated is the text in an ED: type, subtype, encoding and data (chapter 2.A.24). Data of another type is named.
func (m *Message) encapsulated(ed string) (text, other, want string) {
	parts := append(strings.Split(ed, string(m.marks.component)), "", "", "", "", "")
	kind, sub := strings.ToLower(m.component(ed, 2)), strings.ToLower(m.component(ed, 3))
	if full, after, ok := strings.Cut(kind, "/"); ok {
		kind, sub = full, after
	}
	if kind != "text" && kind != "txt" && kind != "" || sub != "" && sub != "plain" && sub != "text" && sub != "html" && sub != "txt" {
		return "", strings.ToUpper(cmp.Or(sub, kind)), ""
	}
	data := strings.Join(strings.Fields(parts[4]), "")
	var raw []byte
	var err error
	switch strings.ToLower(m.component(ed, 4)) {
	case "base64":
		raw, err = base64.StdEncoding.DecodeString(data)
	case "hex":
		raw, err = hex.DecodeString(data)
	case "a", "":
		plain, ok := m.unescape(parts[4])
		if !ok {
			return "", "", fmt.Sprintf("bytes of an escape sequence in OBX-5 in %s", m.charset)
		}
		return plain, "", ""
	default:
		return "", "", "Base64, Hex or A as the encoding in OBX-5.4"
	}
	if err != nil {
		return "", "", "data in OBX-5.5 in the encoding that OBX-5.4 states"
	}
	text, ok := m.charset.decode(raw)
	if !ok {
		return "", "", fmt.Sprintf("data in OBX-5.5 in %s", m.charset)
	}
	if sub == "html" {
		text = markup.Text(text)
	}
	return text, "", ""
}
