package fhir

import (
	"cmp"
	"encoding/json"
	"fmt"
	"path"
	"slices"
	"strings"

	"example.com/stance/lint/internal/decode"
	"example.com/stance/lint/internal/markup"
)

// A Note is one note of a resource, by the names that notes have in files.
type Note struct {
	Fields map[string]string
	Line   int
	Ref    string // "DocumentReference/n7", and behind # which of several notes of the resource
}

// Notes are what somebody wrote in the resource. Where there is nothing, unread says what was passed over, such as
// "Immunization" or "DocumentReference (application/pdf)"; it is empty for a resource that others refer to.
func (res *Resource) Notes() (notes []Note, unread string, err error) {
	var d draft
	switch res.Type {
	case "DocumentReference":
		d, err = res.documentReference()
	case "Composition":
		d, err = res.composition()
	case "Communication":
		d, err = res.communication()
	case "Observation":
		d, err = res.observation()
	case "ClinicalImpression":
		d, err = res.clinicalImpression()
	case "QuestionnaireResponse":
		d, err = res.questionnaireResponse()
	default:
		if Helping(res.Type) {
			return nil, "", nil
		}
		return nil, res.Type, nil
	}
	switch {
	case err != nil:
		return nil, "", err
	case d.unread != "":
		return nil, fmt.Sprintf("%s (%s)", res.Type, d.unread), nil
	}
	return d.notes(res), "", nil
}

// A draft is what the notes of one resource have in common, and the text of each.
type draft struct {
	common
	time, unit string
	author     reference
	texts      []annotation // of each note: what it has of its own, and its text
	unread     string       // why there is no text
}

// common are the fields that resources with notes share.
type common struct {
	Identifier many[identifier] `json:"identifier"`
	Status     string           `json:"status"`
	Subject    reference        `json:"subject"`
	Encounter  reference        `json:"encounter"`
}

// void reports whether the status takes back what the resource says, or says that it was never said.
func (c common) void() bool {
	switch c.Status {
	case "entered-in-error", "superseded", "not-done", "cancelled", "stopped":
		return true
	}
	return false
}

func (d *draft) notes(res *Resource) []Note {
	var notes []Note
	for i, text := range d.texts {
		author := d.author
		if text.AuthorReference != nil {
			author = *text.AuthorReference
		} else if text.AuthorString != "" {
			author = reference{Display: text.AuthorString}
		}
		id := res.ID
		for _, known := range d.Identifier {
			if known.Value != "" {
				id = known.Value
				break
			}
		}
		ref := ""
		if res.ID != "" {
			ref = res.Type + "/" + res.ID
		}
		if i > 0 {
			ref = fmt.Sprintf("%s#%d", ref, i+1)
			if id != "" {
				id = fmt.Sprintf("%s-%d", id, i+1)
			}
		}
		notes = append(notes, Note{Line: res.Line, Ref: ref, Fields: map[string]string{
			"note":     id,
			"resident": res.key(d.Subject),
			"unit":     cmp.Or(d.unit, res.unit(d.Encounter)),
			"time":     cmp.Or(text.Time, d.time),
			"role":     res.title(author),
			"author":   res.key(author),
			"text":     text.Text,
		}})
	}
	return notes
}

// read decodes the resource into a struct of the fields that are read.
func (res *Resource) read(into any) error {
	if err := once(res.raw); err != "" {
		return &decode.Fault{Line: res.Line, Want: fmt.Sprintf("%q once in a %s", err, res.Type)}
	}
	if err := json.Unmarshal(res.raw, into); err != nil {
		o := opened{}
		f := o.syntax(err, nil, res.Line)
		f.Want += ", in a " + res.Type
		return f
	}
	return nil
}

// once is the first name that the object has twice: with two subjects there is no telling whose note it is.
func once(data []byte) string {
	var seen []string
	dec := json.NewDecoder(strings.NewReader(string(data)))
	if _, err := dec.Token(); err != nil {
		return ""
	}
	for dec.More() {
		key, err := dec.Token()
		name, ok := key.(string)
		var value json.RawMessage
		if err != nil || !ok || dec.Decode(&value) != nil {
			return ""
		}
		if slices.Contains(seen, name) && isRead(name) {
			return name
		}
		seen = append(seen, name)
	}
	return ""
}

// isRead keeps names that are no field of FHIR out of messages.
func isRead(name string) bool {
	return slices.Contains([]string{"id", "identifier", "status", "subject", "patient", "encounter", "date", "content", "context",
		"section", "payload", "sent", "note", "effectiveDateTime", "issued", "summary", "description", "item", "authored", "author",
		"code", "period", "activity", "occurrencePeriod", "authoredOn", "component"}, name)
}

func (res *Resource) documentReference() (draft, error) {
	var r struct {
		common
		Master    identifier      `json:"masterIdentifier"`
		DocStatus string          `json:"docStatus"`
		Date      string          `json:"date"`
		Author    many[reference] `json:"author"`
		Content   []struct {
			Attachment attachment `json:"attachment"`
		} `json:"content"`
		Context struct {
			Encounter many[reference] `json:"encounter"`
			Period    period          `json:"period"`
			Related   []reference     `json:"related"`
		} `json:"context"`
	}
	if err := res.read(&r); err != nil {
		return draft{}, err
	}
	d := draft{common: r.common, author: firstOf(r.Author)}
	if r.Master.Value != "" {
		d.Identifier = many[identifier]{r.Master}
	}
	d.Encounter = firstOf(r.Context.Encounter)
	for _, rel := range r.Context.Related {
		if rel.kind() == "Location" {
			d.unit = res.place(rel)
			break
		}
	}
	if r.void() || r.DocStatus == "entered-in-error" {
		d.unread = "withdrawn"
		return d, nil
	}
	var fault error
	d.unread = "no content"
	for i, c := range r.Content { // the same document in several forms: the first that can be read
		text, unread, want := c.Attachment.words()
		switch {
		case want != "":
			fault = &decode.Fault{Line: res.Line, Want: want + ", in a DocumentReference"}
		case unread != "":
			if i == 0 {
				d.unread = unread
			}
		default:
			d.time = cmp.Or(r.Date, c.Attachment.Creation, r.Context.Period.Start)
			d.texts, d.unread = []annotation{{Text: text}}, ""
			return d, nil
		}
	}
	return d, fault
}

// A section of a Composition may have sections.
type section struct {
	Title   string    `json:"title"`
	Text    narrative `json:"text"`
	Section []section `json:"section"`
}

func (res *Resource) composition() (draft, error) {
	var r struct {
		common
		Date    string          `json:"date"`
		Author  many[reference] `json:"author"`
		Section []section       `json:"section"`
	}
	if err := res.read(&r); err != nil {
		return draft{}, err
	}
	d := draft{common: r.common, time: r.Date, author: firstOf(r.Author)}
	return d.with(paragraphs(r.Section, 0), "no narrative in its sections"), nil
}

// with is the draft of one note of the paragraphs, or of none.
func (d draft) with(paragraphs []string, otherwise string) draft {
	paragraphs = slices.DeleteFunc(paragraphs, func(s string) bool { return strings.TrimSpace(s) == "" })
	switch {
	case d.void():
		d.unread = "withdrawn"
	case len(paragraphs) == 0:
		d.unread = otherwise
	default:
		d.texts = []annotation{{Text: strings.Join(paragraphs, "\n\n")}}
	}
	return d
}

// mostSections is how deep sections are followed.
const mostSections = 32

// paragraphs are the narratives of sections under their titles.
func paragraphs(sections []section, depth int) []string {
	var list []string
	if depth == mostSections {
		return nil
	}
	for _, s := range sections {
		text := markup.Text(s.Text.Div)
		if text != "" && s.Title != "" {
			text = s.Title + ":\n" + text
		}
		list = append(append(list, text), paragraphs(s.Section, depth+1)...)
	}
	return list
}

func (res *Resource) communication() (draft, error) {
	var r struct {
		common
		Sent     string    `json:"sent"`
		Received string    `json:"received"`
		Sender   reference `json:"sender"`
		Payload  []struct {
			String     string      `json:"contentString"`
			Attachment *attachment `json:"contentAttachment"`
		} `json:"payload"`
	}
	if err := res.read(&r); err != nil {
		return draft{}, err
	}
	d := draft{common: r.common, time: cmp.Or(r.Sent, r.Received), author: r.Sender}
	var parts []string
	unread := "no text"
	for _, p := range r.Payload {
		if p.Attachment == nil {
			parts = append(parts, p.String)
			continue
		}
		text, other, want := p.Attachment.words()
		if want != "" {
			return draft{}, &decode.Fault{Line: res.Line, Want: want + ", in a Communication"}
		}
		unread = cmp.Or(other, unread)
		parts = append(parts, text)
	}
	return d.with(parts, unread), nil
}

func (res *Resource) observation() (draft, error) {
	var r struct {
		common
		Effective string          `json:"effectiveDateTime"`
		Instant   string          `json:"effectiveInstant"`
		Period    period          `json:"effectivePeriod"`
		Issued    string          `json:"issued"`
		Performer many[reference] `json:"performer"`
		Note      []annotation    `json:"note"`
	}
	if err := res.read(&r); err != nil {
		return draft{}, err
	}
	d := draft{common: r.common, author: firstOf(r.Performer)}
	d.time = cmp.Or(r.Effective, r.Instant, r.Period.Start, r.Issued)
	return d.annotated(r.Note, "no note"), nil
}

// annotated is the draft of a note for each annotation.
func (d draft) annotated(notes []annotation, otherwise string) draft {
	notes = slices.DeleteFunc(notes, func(a annotation) bool { return strings.TrimSpace(a.Text) == "" })
	switch {
	case d.void():
		d.unread = "withdrawn"
	case len(notes) == 0:
		d.unread = otherwise
	default:
		d.texts = notes
	}
	return d
}

func (res *Resource) clinicalImpression() (draft, error) {
	var r struct {
		common
		Description string       `json:"description"`
		Summary     string       `json:"summary"`
		Effective   string       `json:"effectiveDateTime"`
		Period      period       `json:"effectivePeriod"`
		Date        string       `json:"date"`
		Assessor    reference    `json:"assessor"`
		Note        []annotation `json:"note"`
	}
	if err := res.read(&r); err != nil {
		return draft{}, err
	}
	d := draft{common: r.common, author: r.Assessor, time: cmp.Or(r.Date, r.Effective, r.Period.End, r.Period.Start)}
	own := d.with([]string{r.Description, r.Summary}, "")
	return d.annotated(append(own.texts, r.Note...), "no text"), nil
}

// An item of a QuestionnaireResponse; items may lie below items and below answers.
type item struct {
	Answer []struct {
		String string `json:"valueString"`
		Item   []item `json:"item"`
	} `json:"answer"`
	Item []item `json:"item"`
}

func (res *Resource) questionnaireResponse() (draft, error) {
	var r struct {
		common
		Authored string    `json:"authored"`
		Author   reference `json:"author"`
		Item     []item    `json:"item"`
	}
	if err := res.read(&r); err != nil {
		return draft{}, err
	}
	d := draft{common: r.common, time: r.Authored, author: r.Author}
	return d.with(answers(r.Item, 0), "no answers in words"), nil
}

// answers are the answers in words, without their questions, which are not the writer's words: "did she walk?" would
// be read as what happened.
func answers(items []item, depth int) []string {
	var list []string
	if depth == mostSections {
		return nil
	}
	for _, i := range items {
		for _, a := range i.Answer {
			list = append(append(list, a.String), answers(a.Item, depth+1)...)
		}
		list = append(list, answers(i.Item, depth+1)...)
	}
	return list
}

func firstOf(refs []reference) reference {
	if len(refs) == 0 {
		return reference{}
	}
	return refs[0]
}

// kind is the type of the resource that is referred to, where the reference tells it.
func (ref reference) kind() string {
	if ref.Type != "" {
		return ref.Type
	}
	return path.Base(path.Dir(ref.Reference))
}

// key is who or what is meant: the identifier that the reference gives; else the id in it; else, where the reference
// says nothing by itself (a contained resource, or a UUID of this Bundle), the record number or first identifier of what
// it points to, or its id. So a resident has one name in all files of a home, whatever else they hold.
func (res *Resource) key(ref reference) string {
	if ref.Identifier.Value != "" {
		return ref.Identifier.Value
	}
	if local := strings.HasPrefix(ref.Reference, "#") || strings.HasPrefix(ref.Reference, "urn:"); local {
		if found := res.find(ref.Reference); found != nil {
			var n named
			if json.Unmarshal(found.raw, &n) == nil {
				return cmp.Or(n.number(), found.ID, ref.Display)
			}
		}
		if strings.HasPrefix(ref.Reference, "urn:") {
			return ref.Reference[strings.LastIndexByte(ref.Reference, ':')+1:]
		}
		return ref.Display
	}
	if ref.Reference != "" {
		plain, _, _ := strings.Cut(ref.Reference, "/_history/")
		return path.Base(plain)
	}
	return ref.Display
}

// number is the medical record number (MR of HL7 table 0203) among the identifiers, else the first.
func (n *named) number() string {
	for _, id := range n.Identifier {
		for _, c := range id.Type.Coding {
			if c.Code == "MR" && id.Value != "" {
				return id.Value
			}
		}
	}
	for _, id := range n.Identifier {
		if id.Value != "" {
			return id.Value
		}
	}
	return ""
}

// words are what a concept is called.
func (c concept) words() string {
	if c.Text != "" || len(c.Coding) == 0 {
		return c.Text
	}
	return cmp.Or(c.Coding[0].Display, c.Coding[0].Code)
}

// title is the job title of an author: of the role that is referred to, or the one role of the practitioner in the
// document, or a qualification; else what the reference is shown as, which may end in one ("…, RN").
func (res *Resource) title(ref reference) string {
	found := res.find(ref.Reference)
	if found == nil {
		return ref.Display
	}
	var n named
	if json.Unmarshal(found.raw, &n) != nil {
		return ref.Display
	}
	if title := res.scope.titles[ref.Reference]; title != "" {
		return title
	}
	for _, c := range n.Code {
		if w := c.words(); w != "" {
			return w
		}
	}
	for _, q := range n.Qualification {
		if w := q.Code.words(); w != "" {
			return w
		}
	}
	return ref.Display
}

// unit is the place of an encounter of the document.
func (res *Resource) unit(ref reference) string {
	found := res.find(ref.Reference)
	if found == nil {
		return ""
	}
	var e struct {
		Location []struct {
			Location reference `json:"location"`
		} `json:"location"`
	}
	if json.Unmarshal(found.raw, &e) != nil || len(e.Location) == 0 {
		return ""
	}
	return found.place(e.Location[len(e.Location)-1].Location) // where the resident is now
}

// place is the name of a Location, else what the reference is shown as, else its identifier or id.
func (res *Resource) place(ref reference) string {
	if found := res.find(ref.Reference); found != nil {
		var n struct {
			Name string `json:"name"`
		}
		if json.Unmarshal(found.raw, &n) == nil && n.Name != "" {
			return n.Name
		}
	}
	return cmp.Or(ref.Display, res.key(ref))
}
