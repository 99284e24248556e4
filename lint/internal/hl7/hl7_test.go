package hl7_test

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/lint/internal/decode"
	"example.com/stance/lint/internal/decode/decodetest"
	"example.com/stance/lint/internal/hl7"
)

// told is everything that a text gives, one a line.
func told(t *testing.T, in string) []string {
	t.Helper()
	text, err := decode.Open(strings.NewReader(in))
	if err != nil {
		return []string{err.Error()}
	}
	return decodetest.All(t, len(in)+2, hl7.NewReader(text).Next, toldOf)
}

func toldOf(m *hl7.Message) []string {
	notes, unread, err := m.Notes()
	var out []string
	for _, n := range notes {
		f := n.Fields
		switch {
		case n.Cancels != "":
			out = append(out, fmt.Sprintf("%d cancels %s", n.Line, n.Cancels))
			continue
		case n.Replaces != "":
			out = append(out, fmt.Sprintf("%d replaces %s", n.Line, n.Replaces))
		}
		out = append(out, fmt.Sprintf("%d note %s of %s at %s, unit %q, by %q (%s): %q", n.Line, f["note"], f["resident"], f["time"], f["unit"], f["author"], f["role"], f["text"]))
	}
	if unread != "" {
		out = append(out, fmt.Sprintf("%d no note: %s", m.Line, unread))
	}
	if err != nil {
		out = append(out, err.Error())
	}
	return out
}

// mdm is a document with OBX segments; charset is MSH-18.
func mdm(id, charset string, obx ...string) string {
	return "MSH|^~\\&|NOTES|HOME|REG|HOME|20261124214500-0500||MDM^T02^MDM_T02|" + id + "|P|2.5.1||||||" + charset + "\r" +
		"EVN|T02|20261124214500-0500\r" +
		"PID|1||X9^^^OTHER^PI~R-0412^^^HOME^MR||DOE^J\r" +
		"PV1|1|I|Birch^12^1\r" +
		"TXA|1|PN|TX|202611242140-0500|||||A17^DOE^J^^^^RN|||N7^NOTES|||||AU\r" +
		strings.Join(obx, "\r") + "\rZXX|anything\r"
}

const first = `1 note N7 of R-0412 at 2026-11-24T21:40:00-05:00, unit "Birch", by "A17" (RN): `

func TestNotes(t *testing.T) {
	const one = "OBX|1|TX|N||one||||||F"
	tests := []struct {
		name, in string
		want     []string
	}{
		{"a document", mdm("1", "", one), []string{first + `"one"`}},
		{"with line feeds", strings.ReplaceAll(mdm("1", "", one), "\r", "\n"), []string{first + `"one"`}},
		{"with both", strings.ReplaceAll(mdm("1", "", one), "\r", "\r\n"), []string{first + `"one"`}},
		{"in frames", "\x0b" + mdm("1", "", one) + "\x1c\r\x0b" + mdm("2", "", one) + "\x1c\r", []string{first + `"one"`, strings.Replace(first, "1 ", "9 ", 1) + `"one"`}},
		{"several OBX and repetitions", mdm("1", "", one, "OBX|2|FT|N||two\\.br\\three~four", "OBX|3|NM|N||5", "OBX|4|ST|N||gone||||||D"), []string{first + `"one\ntwo\nthree\nfour"`}},
		{"escape sequences", mdm("1", "", `OBX|1|FT|N||\F\ \S\ \T\ \R\ \E\ \H\bold\N\ \X4142\ \.sp2\ \.sk3\x \.in+4\y w\c and \ok\ z`), []string{first + `"| ^ & ~ \\ bold AB \n\n    x y w\\c and \\ok\\ z"`}},
		{"other delimiters", strings.NewReplacer("|", "!", "^", "@", "~", "*", `\`, "$", "&", "%").Replace(mdm("1", "", `OBX|1|FT|N||a\F\b\S\c`)), []string{first + `"a!b@c"`}},
		{"base64", mdm("1", "UNICODE UTF-8", "OBX|1|ED|N||^TEXT^^Base64^Y2Fmw6k="), []string{first + `"café"`}},
		{"HTML in base64", mdm("1", "", "OBX|1|ED|N||^text^html^Base64^PHA+b25lPHA+dHdv"), []string{first + `"one\ntwo"`}},
		{"a PDF beside text", mdm("1", "", one, "OBX|2|ED|N||^application^PDF^Base64^AAAA"), []string{first + `"one"`}},
		{"a PDF alone", mdm("1", "", "OBX|2|ED|N||^application^PDF^Base64^AAAA"), []string{"1 no note: MDM^T02 (ED, PDF)"}},
		{"declared Latin 1", mdm("1", "8859/1", "OBX|1|TX|N||caf\xe9"), []string{first + `"café"`}},
		{"declared UTF-8", mdm("1", "UNICODE UTF-8", "OBX|1|TX|N||café"), []string{first + `"café"`}},
		{"another charset than declared", mdm("1", "UNICODE UTF-8", "OBX|1|TX|N||caf\xe9") + mdm("2", "", one), []string{
			"line 6: want segment OBX in UTF-8, as MSH-18 declares (message 1)", strings.Replace(first, "1 ", "8 ", 1) + `"one"`}},
		{"more than ASCII", mdm("1", "ASCII", "OBX|1|TX|N||café"), []string{"line 6: want segment OBX in ASCII, as MSH-18 declares (message 1)"}},
		{"undeclared", mdm("1", "", "OBX|1|TX|N||caf\xe9"), []string{"line 6: want segment OBX in UTF-8, or MSH-18 to declare another character set (message 1)"}},
		{"unread charset", mdm("1", "ISO IR87", one), []string{"line 1: want a character set that is read in MSH-18: ASCII, 8859/1 to 8859/15 or UNICODE UTF-8 (message 1)"}},
		{"a batch", "FHS|^~\\&|A\rBHS|^~\\&|A\r" + mdm("1", "", one) + "BTS|1\rFTS|1\r", []string{strings.Replace(first, "1 ", "3 ", 1) + `"one"`}},
		{"a batch cut short", "BHS|^~\\&|A\r" + mdm("1", "", one) + "BTS|2\r", []string{strings.Replace(first, "1 ", "2 ", 1) + `"one"`, "line 9: want 2 messages in the batch, as BTS-1 says, but there are 1"}},
		{"replaced", strings.Replace(strings.Replace(mdm("1", "", one), "^T02^", "^T10^", 1), "N7^NOTES|", "N8|N7", 1), []string{"1 replaces N7", strings.Replace(first, "N7", "N8", 1) + `"one"`}},
		{"replaced, but what?", strings.Replace(mdm("1", "", one), "^T02^", "^T10^", 1), []string{"line 5: want the number of the document that is replaced in TXA-13 (message 1)"}},
		{"cancelled", strings.Replace(mdm("1", ""), "^T02^", "^T11^", 1), []string{"1 cancels N7"}},
		{"of another type", strings.Replace(mdm("1", ""), "MDM^T02", "ADT^A01", 1), []string{"1 no note: ADT^A01"}},
		{"no text", mdm("1", ""), []string{"1 no note: MDM^T02 (no text)"}},
		{"no resident", strings.Replace(mdm("1", "", one), "X9^^^OTHER^PI~R-0412^^^HOME^MR", "", 1), []string{"line 3: want the resident's number in PID-3 (message 1)"}},
		{"no PID", strings.Replace(mdm("1", "", one), "PID|", "ZID|", 1), []string{"line 1: want a PID segment (message 1)"}},
		{"no TXA", strings.Replace(mdm("1", "", one), "TXA|", "ZXA|", 1), []string{"line 1: want a TXA segment (message 1)"}},
		{"a date alone", strings.Replace(mdm("1", "", one), "202611242140-0500", "20261124", 1), []string{"line 5: want a time as YYYYMMDDHHMM[SS][+ZZZZ] in TXA-4 (message 1)"}},
		{"no base64", mdm("1", "", "OBX|1|ED|N||^TEXT^^Base64^one!") + mdm("2", "", one), []string{
			"line 6: want data in OBX-5.5 in the encoding that OBX-5.4 states (message 1)", strings.Replace(first, "1 ", "8 ", 1) + `"one"`}},
		{"wrong delimiters", strings.Replace(mdm("1", "", one), `^~\&`, "^^^^", 1) + mdm("2", "", one), []string{
			`line 1: want MSH with a field separator and four other delimiters, as in "MSH|^~\&|"`, strings.Replace(first, "1 ", "8 ", 1) + `"one"`}},
		{"a line broken within a text", mdm("1", "", "OBX|1|TX|N||one\rtwo three") + mdm("2", "", one), []string{
			"line 7: want a segment: three capital letters or digits and the field separator (message 1)", strings.Replace(first, "1 ", "9 ", 1) + `"one"`}},
		{"cut off", mdm("1", "", one) + "MSH|^~\\&|NOTES|HOME|REG|HOME|20261124214500||MDM^T02|2|P|2.5\rPI", []string{
			first + `"one"`, "line 9: want a segment: three capital letters or digits and the field separator (message 2)"}},
		{"no header", "PID|1||R\rOBX|1\r" + mdm("1", "", one), []string{"line 1: want a message that starts with MSH", strings.Replace(first, "1 ", "3 ", 1) + `"one"`}},
		{"observations", "MSH|^~\\&|A|B|C|D|20261124214500||ORU^R01|9|P|2.4\rPID|1||R-1\rPV1||I|Elm\r" +
			"OBR|1|P1|F1|W^Wound|||202611240800\rOBX|1|FT|T||one||||||F|||202611240900||B2^ROE^R^^^^LPN\rOBX|2|TX|T||two\r" +
			"OBR|2||F2|L^Lab|||202611240800\rOBX|1|NM|K||4.1\rOBR|3||F3|W\rOBX|1|ST|T||three||||||F|||202611241000\r", []string{
			`4 note F1 of R-1 at 2026-11-24T08:00:00, unit "Elm", by "B2" (LPN): "one\ntwo"`,
			`9 note F3 of R-1 at 2026-11-24T10:00:00, unit "Elm", by "" (): "three"`}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if diff := cmp.Diff(tt.want, told(t, tt.in)); diff != "" {
				t.Errorf("-want +got:\n%s", diff)
			}
		})
	}
}

// A message that is far too long costs itself only, and is not held.
func TestHuge(t *testing.T) {
	in := io.MultiReader(strings.NewReader(mdm("1", "", "OBX|1|TX|N||one")+"MSH|^~\\&|A|B|C|D|20261124214500||MDM^T02|2|P|2.5\rOBX|1|TX|N||"),
		io.LimitReader(decodetest.Endless("x"), 100<<20), strings.NewReader("\r"+mdm("3", "", "OBX|1|TX|N||one")))
	text, err := decode.Open(in)
	if err != nil {
		t.Fatal(err)
	}
	id := func(m *hl7.Message) []string { return []string{m.ID} }
	got := decodetest.All(t, 9, hl7.NewReader(text).Next, id)
	if want := []string{"1", "line 9: want a record of at most 4194304 bytes, in a segment", "3"}; !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

// FuzzRead holds that any input comes to its end.
func FuzzRead(f *testing.F) {
	f.Add(mdm("1", "8859/1", `OBX|1|FT|N||\X41\\.br\~\E\`, "OBX|2|ED|N||^TEXT^^Base64^b25l"))
	f.Add("FHS|^~\\&|\rBHS|^~\\&|\rMSH|^~\\&|A|B|C|D|20261124214500||ORU^R01|9|P|2.4\rPID|1||R-1\rOBR|1||F1|W|||202611240800\rOBX|1|ST|T||x\rBTS|3\r")
	f.Add("BTS\rMSH|^~\\&#|\r\x0b\x1c")
	f.Fuzz(func(t *testing.T, in string) {
		told(t, in)
		if m, err := hl7.Parse([]byte(in)); err == nil {
			toldOf(m)
		}
	})
}
