package pages

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"errors"
	"io"
	"maps"
	"mime"
	"net/http"
	"slices"
	"strings"
	"time"

	"example.com/stance/cmd/stance/web/pages/sight"
	"example.com/stance/lint/amend"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
)

// A document is the note of a call, and the DocumentReference that it came in.
type document struct {
	note note.Note
	raw  map[string]json.RawMessage
}

// hookNote reads the note of a call, which stands in the context or was prefetched. The text is held for as long as the
// call takes.
func (s *site) hookNote(call *hookCall) (*document, error) {
	where, raw := "context.note", call.Context.Note
	if len(raw) == 0 || string(raw) == "null" {
		where, raw = "prefetch.note", call.given("note")
	}
	if raw == nil {
		return nil, unmet("want the note, as a DocumentReference in context.note or prefetch.note")
	}
	d := &document{}
	var doc struct {
		ResourceType string `json:"resourceType"`
		Date         string `json:"date"`
		Subject      *struct {
			Reference  string `json:"reference"`
			Identifier struct {
				Value string `json:"value"`
			} `json:"identifier"`
		} `json:"subject"`
		Author []json.RawMessage `json:"author"`
	}
	if json.Unmarshal(raw, &d.raw) != nil || json.Unmarshal(raw, &doc) != nil || doc.ResourceType != "DocumentReference" {
		return nil, badCall("%s: want a DocumentReference of FHIR R4", where)
	}
	if sub := doc.Subject; sub != nil {
		id, ok := strings.CutPrefix(sub.Reference, "Patient/")
		if at := strings.LastIndex(sub.Reference, "/Patient/"); at >= 0 {
			id, ok = sub.Reference[at+len("/Patient/"):], true
		}
		id, _, _ = strings.Cut(id, "/_history/")
		switch {
		case ok && id != call.Context.PatientID, !ok && sub.Identifier.Value != "" && !slices.Contains(call.numbers(), sub.Identifier.Value):
			return nil, badCall("%s: want the note of the Patient of context.patientId", where)
		}
	}
	// What a draft has not yet been given is known from the call.
	draft := maps.Clone(d.raw)
	draft["subject"] = jsonOf(map[string]string{"reference": "Patient/" + call.Context.PatientID})
	if doc.Date == "" {
		draft["date"] = jsonOf(s.now().Format(time.RFC3339))
	}
	if len(doc.Author) == 0 {
		draft["author"] = jsonOf([]map[string]string{{"reference": call.Context.UserID}})
	}
	var err error
	d.note, err = s.readDocument(where, draft, call.given("user"))
	return d, err
}

func jsonOf(v any) json.RawMessage {
	b, err := json.Marshal(v)
	if err != nil {
		panic(err) // strings, or what was read as JSON before
	}
	return b
}

// readDocument reads a DocumentReference as files of FHIR are read, with the user, where one is given, to say who wrote it.
func (s *site) readDocument(where string, doc map[string]json.RawMessage, user json.RawMessage) (note.Note, error) {
	type entry struct {
		Resource any `json:"resource"`
	}
	entries := []entry{{doc}}
	if user != nil {
		entries = append(entries, entry{user})
	}
	bundle, err := json.Marshal(map[string]any{"resourceType": "Bundle", "type": "collection", "entry": entries})
	if err != nil {
		return note.Note{}, badCall("%s: want a DocumentReference of FHIR R4", where)
	}
	r, err := note.NewReader("note.json", bytes.NewReader(bundle), note.Options{Zone: s.policy.Zone, Roles: s.policy.Roles})
	if err != nil {
		return note.Note{}, err
	}
	n, err := r.Next()
	var bad *note.BadRecord
	switch {
	case errors.As(err, &bad):
		return note.Note{}, badCall("%s: want %s", where, bad.Want)
	case errors.Is(err, io.EOF):
		return note.Note{}, unmet("want a note with text inline, plain or HTML, that was not withdrawn")
	case err != nil:
		return note.Note{}, err
	case len(n.Text) > mostText:
		return note.Note{}, &refusal{status: http.StatusRequestEntityTooLarge, words: "The note is too long."}
	}
	return n, nil
}

// suggest proposes the wording of a finding. The note itself is amended where it lies with the caller and its text is plain,
// so that nothing else of it is touched.
func (c *card) suggest(d *document, f sight.Finding, w *wording) {
	c.Selection = "at-most-one"
	c.Suggestions = []suggestion{{Label: "Write “" + w.New + "” in place of “" + w.Old + "”"}}
	if amended := d.amended(amend.Apply(d.note.Text, amend.Changes(d.note.Text, []finding.Finding{f.Finding}))); amended != nil {
		c.Suggestions[0].Actions = []cardAction{{Type: "update", Description: "Put the words into the note", Resource: amended}}
	}
}

// amended is the DocumentReference with another text; nil where it cannot be made.
func (d *document) amended(text string) map[string]json.RawMessage {
	var content []map[string]json.RawMessage
	var id string
	if json.Unmarshal(d.raw["id"], &id) != nil || id == "" || json.Unmarshal(d.raw["content"], &content) != nil || len(content) != 1 {
		return nil
	}
	var attachment map[string]json.RawMessage
	var kind string
	var data []byte
	if json.Unmarshal(content[0]["attachment"], &attachment) != nil || json.Unmarshal(attachment["contentType"], &kind) != nil || json.Unmarshal(attachment["data"], &data) != nil {
		return nil
	}
	media, with, err := mime.ParseMediaType(kind)
	if charset := strings.ToLower(with["charset"]); err != nil || media != "text/plain" || charset != "" && charset != "utf-8" || string(data) != d.note.Text {
		return nil
	}
	attachment["data"] = jsonOf(base64.StdEncoding.EncodeToString([]byte(text)))
	delete(attachment, "size") // of the old text
	delete(attachment, "hash")
	content[0]["attachment"] = jsonOf(attachment)
	out := maps.Clone(d.raw)
	out["content"] = jsonOf(content)
	delete(out, "text") // a narrative of the old text
	return out
}
