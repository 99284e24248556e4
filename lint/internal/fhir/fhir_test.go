package fhir_test

import (
	"flag"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/lint/internal/decode"
	"example.com/stance/lint/internal/decode/decodetest"
	"example.com/stance/lint/internal/fhir"
)

var update = flag.Bool("update", false, "rewrite what the published examples are read as")

// told is everything that a text gives, one a line.
func told(t *testing.T, in string) []string {
	t.Helper()
	text, err := decode.Open(strings.NewReader(in))
	if err != nil {
		return []string{err.Error()}
	}
	return decodetest.All(t, len(in)+2, fhir.NewReader(text).Next, toldOf)
}

func toldOf(res *fhir.Resource) []string {
	var out []string
	notes, unread, err := res.Notes()
	for _, n := range notes {
		f := n.Fields
		out = append(out, fmt.Sprintf("%d note %s of %s at %s, unit %q, by %q (%s), in %s: %q",
			n.Line, f["note"], f["resident"], f["time"], f["unit"], f["author"], f["role"], n.Ref, f["text"]))
	}
	if unread != "" {
		out = append(out, fmt.Sprintf("%d no note: %s", res.Line, unread))
	}
	if err != nil {
		out = append(out, "note: "+err.Error())
	}
	codes, _, err := res.Codes()
	for _, c := range codes {
		out = append(out, fmt.Sprintf("%d code %s %q of %s from %s until %q, unit %q, by %q", c.Line, c.Code, c.Value, c.Resident, c.From, c.Until, c.Unit, c.By))
	}
	if err != nil {
		out = append(out, "code: "+err.Error())
	}
	return out
}

// The published examples of FHIR R4 are read to the end, and each gives what it did.
func TestPublished(t *testing.T) {
	var got []string
	for _, name := range []string{"examples.ndjson", "document.json"} {
		in, err := os.ReadFile("testdata/" + name)
		if err != nil {
			t.Fatal(err)
		}
		if !fhir.Is(in) {
			t.Errorf("%s is not known as FHIR", name)
		}
		got = append(append(got, name), told(t, string(in))...)
	}
	all := strings.Join(got, "\n") + "\n"
	if *update {
		if err := os.WriteFile("testdata/notes.txt", []byte(all), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile("testdata/notes.txt")
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), all); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}

// doc is a DocumentReference of one text, whose content type is given.
func doc(id, contentType, data string) string {
	return fmt.Sprintf(`{"resourceType":"DocumentReference","id":%q,"status":"current","subject":{"reference":"Patient/R-1"},`+
		`"date":"2026-11-24T21:40:00Z","content":[{"attachment":{"contentType":%q,"data":%q}}]}`, id, contentType, data)
}

func TestNotes(t *testing.T) {
	bundle := `{"resourceType":"Bundle","type":"collection","entry":[
 {"fullUrl":"urn:uuid:1","resource":{"resourceType":"DocumentReference","id":"d1","status":"current",
  "identifier":[{"value":"N7"}],
  "subject":{"reference":"urn:uuid:2"},"author":[{"reference":"Practitioner/a"}],"date":"2026-11-24T21:40:00-05:00",
  "content":[{"attachment":{"contentType":"application/pdf","data":"AAAA"}},{"attachment":{"contentType":"text/plain; charset=iso-8859-1","data":"Y2Fm6SB3YWxrZWQ="}}],
  "context":{"encounter":[{"reference":"Encounter/e"}]}}},
 {"fullUrl":"urn:uuid:2","resource":{"resourceType":"Patient","id":"p","identifier":[{"value":"other"},{"type":{"coding":[{"code":"MR"}]},"value":"R-0412"}]}},
 {"resource":{"resourceType":"Encounter","id":"e","location":[{"location":{"reference":"Location/l"}}]}},
 {"resource":{"resourceType":"Location","id":"l","name":"Birch"}},
 {"resource":{"resourceType":"PractitionerRole","id":"r","practitioner":{"reference":"Practitioner/a"},"code":[{"text":"care worker"}]}},
 {"resource":{"resourceType":"Practitioner","id":"a"}},
 {"response":{"status":"200"}}
]}`
	tests := []struct {
		name, in string
		want     []string
	}{
		{"bundle, over several lines", bundle, []string{`2 note N7 of R-0412 at 2026-11-24T21:40:00-05:00, unit "Birch", by "a" (care worker), in DocumentReference/d1: "café walked"`}},
		{"bundle on a line", strings.ReplaceAll(bundle, "\n", ""), []string{`1 note N7 of R-0412 at 2026-11-24T21:40:00-05:00, unit "Birch", by "a" (care worker), in DocumentReference/d1: "café walked"`}},
		{"a resource a line", doc("a", "text/plain", "b25l") + "\n\r\n" + doc("b", "text/html", "PHA+b25lPHA+dHdv") + "\n", []string{
			`1 note a of R-1 at 2026-11-24T21:40:00Z, unit "", by "" (), in DocumentReference/a: "one"`,
			`3 note b of R-1 at 2026-11-24T21:40:00Z, unit "", by "" (), in DocumentReference/b: "one\ntwo"`}},
		{"notes of an Observation", `{"resourceType":"Observation","id":"o","status":"final","subject":{"identifier":{"value":"R-2"},"reference":"Patient/9"},` +
			`"performer":[{"display":"A. N. Other, RN"}],"effectiveDateTime":"2026-11-24T08:00:00Z","note":[{"text":"one"},{"text":" "},{"text":"two","time":"2026-11-24T09:00:00Z","authorString":"B"}]}`, []string{
			`1 note o of R-2 at 2026-11-24T08:00:00Z, unit "", by "A. N. Other, RN" (A. N. Other, RN), in Observation/o: "one"`,
			`1 note o-2 of R-2 at 2026-11-24T09:00:00Z, unit "", by "B" (B), in Observation/o#2: "two"`}},
		{"contained patient", `{"resourceType":"Communication","id":"c","status":"completed","contained":[{"resourceType":"Patient","id":"x","identifier":[{"value":"R-3"}]}],` +
			`"subject":{"reference":"#x"},"sent":"2026-11-24T08:00:00Z","payload":[{"contentString":"one"},{"contentAttachment":{"contentType":"text/plain","data":"dHdv"}}]}`,
			[]string{`1 note c of R-3 at 2026-11-24T08:00:00Z, unit "", by "" (), in Communication/c: "one\n\ntwo"`}},
		{"withdrawn", strings.Replace(doc("a", "text/plain", "b25l"), "current", "entered-in-error", 1), []string{"1 no note: DocumentReference (withdrawn)"}},
		{"of another kind", doc("a", "application/rtf", "e30=") + "\n" + doc("b", "text/plain", ""), []string{
			"1 no note: DocumentReference (application/rtf)", "2 no note: DocumentReference (text not inline)"}},
		{"not base64", doc("a", "text/plain", "one two!") + "\n" + doc("b", "text/plain", "b25l"), []string{
			"note: line 1: want base64 in the data of an attachment, in a DocumentReference",
			`2 note b of R-1 at 2026-11-24T21:40:00Z, unit "", by "" (), in DocumentReference/b: "one"`}},
		{"another charset than declared", doc("a", "text/plain", "Y2Fm6Q=="), []string{"note: line 1: want UTF-8 in the data of an attachment, or its content type to declare another charset, in a DocumentReference"}},
		{"unknown charset", doc("a", "text/plain; charset=klingon", "b25l"), []string{"note: line 1: want a character set that is known, in the content type of an attachment, in a DocumentReference"}},
		{"two subjects", strings.Replace(doc("a", "text/plain", "b25l"), `"date"`, `"subject":{"reference":"Patient/R-2"},"date"`, 1), []string{`note: line 1: want "subject" once in a DocumentReference`}},
		{"a field of another kind", strings.Replace(doc("a", "text/plain", "b25l"), `{"reference":"Patient/R-1"}`, `"R-1"`, 1), []string{`note: line 1: want "subject" as FHIR R4 has it, not as string, in a DocumentReference`}},
		{"cut off in a Bundle", `{"resourceType":"Bundle","entry":[` + "\n{\"resource\":" + doc("a", "text/plain", "b25l") + "},\n{\"resource\":{\"resourceType\":\"Docum", []string{
			`2 note a of R-1 at 2026-11-24T21:40:00Z, unit "", by "" (), in DocumentReference/a: "one"`,
			"line 3: want JSON of a FHIR resource; the end is missing"}},
		{"a broken line among good ones", "{\"resourceType\":\"Docu\n" + doc("a", "text/plain", "b25l") + "\n{]\n" + doc("b", "text/plain", "b25l"), []string{
			"line 1: want JSON of a FHIR resource; a byte there does not fit, or the end is missing",
			`2 note a of R-1 at 2026-11-24T21:40:00Z, unit "", by "" (), in DocumentReference/a: "one"`,
			"line 3: want JSON of a FHIR resource; a byte there does not fit, or the end is missing",
			`4 note b of R-1 at 2026-11-24T21:40:00Z, unit "", by "" (), in DocumentReference/b: "one"`}},
		{"no resource", `{"resourceType":"Bundle","entry":[{"resource":{"id":"x"}},{"resource":` + doc("a", "text/plain", "b25l") + `}]}`, []string{
			`1 note a of R-1 at 2026-11-24T21:40:00Z, unit "", by "" (), in DocumentReference/a: "one"`,
			`line 1: want a FHIR resource, with "resourceType"`}},
		{"Bundles in Bundles", strings.Repeat(`{"resourceType":"Bundle","entry":[{"resource":`, 5) + doc("a", "text/plain", "b25l") + strings.Repeat("}]}", 5), []string{"line 1: want Bundles at most 4 deep"}},
		{"Windows-1252", strings.Replace(doc("a", "text/plain", "b25l"), "R-1", "R-\xe9", 1), []string{"line 1: want UTF-8, as JSON of FHIR is"}},
		{"a huge resource", `{"resourceType":"Bundle","entry":[{"resource":` + doc("a", "text/plain", strings.Repeat("b25l", 1<<20)) + `},{"resource":` + doc("b", "text/plain", "b25l") + `}]}`, []string{
			`1 note b of R-1 at 2026-11-24T21:40:00Z, unit "", by "" (), in DocumentReference/b: "one"`,
			"line 1: want a resource of at most 4194304 bytes"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if diff := cmp.Diff(tt.want, told(t, tt.in)); diff != "" {
				t.Errorf("-want +got:\n%s", diff)
			}
		})
	}
}

// A file of 100 MB in one line is refused without being held.
func TestHugeLine(t *testing.T) {
	in := io.MultiReader(strings.NewReader(doc("a", "text/plain", "b25l")+"\n"+`{"resourceType":"`),
		io.LimitReader(decodetest.Endless("x"), 100<<20), strings.NewReader("\n"+doc("b", "text/plain", "b25l")))
	text, err := decode.Open(in)
	if err != nil {
		t.Fatal(err)
	}
	id := func(r *fhir.Resource) []string { return []string{r.ID} }
	got := decodetest.All(t, 9, fhir.NewReader(text).Next, id)
	if want := []string{"a", "line 2: want a record of at most 67108864 bytes", "b"}; !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

// FuzzRead holds that any input comes to its end, and that lines only go up.
func FuzzRead(f *testing.F) {
	f.Add(doc("a", "text/html; charset=utf-16", "b25l") + "\n" + `{"resourceType":"Flag","code":{"coding":[{"code":"x"}]}}`)
	f.Add(`{"resourceType":"Bundle","entry":[` + "\n" + `{"fullUrl":"urn:x","resource":{"resourceType":"Patient"}},{"resource":{"resourceType":"Bundle"`)
	f.Add(`{"resourceType":"Observation","note":{"text":"a"},"component":[{"code":{}}],"contained":[{"id":"a"}],"subject":{"reference":"#a"}}`)
	f.Fuzz(func(t *testing.T, in string) { told(t, in) })
}
