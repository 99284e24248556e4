package decode_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"runtime"
	"slices"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"example.com/stance/lint/internal/decode"
	"example.com/stance/lint/internal/decode/decodetest"
)

// lines reads the whole of r, each line as "number: text" or as the fault.
func lines(t *testing.T, r io.Reader, limit int) []string {
	t.Helper()
	text, err := decode.Open(r)
	if err != nil {
		return []string{err.Error()}
	}
	var got []string
	for {
		l, err := text.Line(limit)
		var s []string
		if err == nil {
			s, err = text.Decode(l.Number, l.Bytes)
		}
		var f *decode.Fault
		switch {
		case err == io.EOF:
			return got
		case errors.As(err, &f):
			got = append(got, f.Error())
		case err != nil:
			return append(got, err.Error())
		default:
			got = append(got, fmt.Sprintf("%d: %s", l.Number, s[0]))
		}
	}
}

func encode(t *testing.T, enc encoding.Encoding, s string) string {
	t.Helper()
	b, err := enc.NewEncoder().String(s)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestEncodings(t *testing.T) {
	const text = "bed→w/c, 2 aides\nRésumé\n" // the arrow is not in Windows-1252
	const western = "bed – w/c\nRésumé\n"
	tests := []struct {
		name string
		in   string
		want []string
	}{
		{"UTF-8", text, []string{"1: bed→w/c, 2 aides", "2: Résumé"}},
		{"UTF-8 with BOM", "\uFEFF" + text, []string{"1: bed→w/c, 2 aides", "2: Résumé"}},
		{"UTF-16 LE with BOM", encode(t, unicode.UTF16(unicode.LittleEndian, unicode.UseBOM), text), []string{"1: bed→w/c, 2 aides", "2: Résumé"}},
		{"UTF-16 BE with BOM", encode(t, unicode.UTF16(unicode.BigEndian, unicode.UseBOM), text), []string{"1: bed→w/c, 2 aides", "2: Résumé"}},
		{"UTF-16 LE", encode(t, unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM), text), []string{"1: bed→w/c, 2 aides", "2: Résumé"}},
		{"UTF-16 BE", encode(t, unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM), text), []string{"1: bed→w/c, 2 aides", "2: Résumé"}},
		{"Windows-1252", encode(t, charmap.Windows1252, western), []string{"1: bed – w/c", "2: Résumé"}},
		{"Windows-1252 after ASCII", "plain\n" + encode(t, charmap.Windows1252, western), []string{"1: plain", "2: bed – w/c", "3: Résumé"}},
		{"UTF-8 that breaks off", text + "caf\xe9\nok", []string{"1: bed→w/c, 2 aides", "2: Résumé", "line 3: want UTF-8, as the text before this line is", "4: ok"}},
		{"neither", "a\x81b\n", []string{"line 1: want text in UTF-8, UTF-16 or Windows-1252"}},
		{"UTF-16 that ends within a unit", encode(t, unicode.UTF16(unicode.LittleEndian, unicode.UseBOM), "one\ntwo") + "x",
			[]string{"1: one", "line 2: want UTF-16 in units of two bytes, but the file ends within one"}},
		{"binary", "GIF89a\x00\x01\x02", []string{"line 1: want text, but this is a binary file (it has NUL bytes)"}},
		{"workbook", "PK\x03\x04\x14\x00", []string{"line 1: want text, but this is a workbook or an archive: save the sheet as CSV"}},
		{"empty", "", nil},
		{"BOM alone", "\uFEFF", nil},
	}
	for _, tt := range tests {
		for kind, wrap := range map[string]func(io.Reader) io.Reader{"at once": func(r io.Reader) io.Reader { return r }, "byte by byte": iotest.OneByteReader} {
			t.Run(tt.name+", "+kind, func(t *testing.T) {
				got := lines(t, wrap(strings.NewReader(tt.in)), 1000)
				if !slices.Equal(got, tt.want) {
					t.Errorf("got  %q\nwant %q", got, tt.want)
				}
			})
		}
	}
}

// A NUL byte beyond what is looked at first costs its line only.
func TestLateNUL(t *testing.T) {
	got := lines(t, strings.NewReader(strings.Repeat("a line of text\n", 5000)+"x\x00y\nok\n"), 100)
	want := []string{"line 5001: want text, but there is a NUL byte", "5002: ok"}
	if tail := got[len(got)-2:]; !slices.Equal(tail, want) {
		t.Errorf("got %q, want %q", tail, want)
	}
}

func TestLineEnds(t *testing.T) {
	text, err := decode.Open(strings.NewReader("a\nb\r\nc\rd\n\r\n\re"))
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for {
		l, err := text.Line(10)
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, fmt.Sprintf("%d %q %q %t", l.Number, l.Bytes, l.End, l.Blank()))
	}
	want := []string{`1 "a" "\n" false`, `2 "b" "\r\n" false`, `3 "c" "\n" false`, `4 "d" "\n" false`,
		`5 "" "\r\n" true`, `6 "" "\n" true`, `7 "e" "" false`}
	if !slices.Equal(got, want) {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}

// A long line is passed over without being held.
func TestLongLine(t *testing.T) {
	const limit, size = 1000, 50 << 20
	long := io.LimitReader(decodetest.Endless("x"), size)
	r := io.MultiReader(strings.NewReader("one\n"), long, strings.NewReader("\nthree\n"))
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	got := lines(t, r, limit)
	runtime.ReadMemStats(&after)
	if used := after.TotalAlloc - before.TotalAlloc; used > 1<<20 {
		t.Errorf("%d bytes used for a line of %d", used, size)
	}
	want := []string{"1: one", "line 2: want a record of at most 1000 bytes", "3: three"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestReadError(t *testing.T) {
	broken := errors.New("disk is gone")
	got := lines(t, io.MultiReader(strings.NewReader(strings.Repeat("ok\n", 40000)), iotest.ErrReader(broken)), 10)
	if n := len(got); n != 40001 || got[n-1] != broken.Error() {
		t.Errorf("got %d lines, the last %q; want 40000 and the error", n, got[n-1])
	}
	if _, err := decode.Open(iotest.ErrReader(broken)); !errors.Is(err, broken) {
		t.Errorf("Open: %v, want %v", err, broken)
	}
}

// records reads a table, each record as "line: a|b" or as the fault.
func records(in string, limit int) []string {
	text, err := decode.Open(strings.NewReader(in))
	if err != nil {
		return []string{err.Error()}
	}
	table, err := decode.NewTable(text, limit, func(header []string) int {
		n := 0
		for _, h := range header {
			if h == "id" || h == "text" {
				n++
			}
		}
		return n
	})
	if err != nil {
		return []string{err.Error()}
	}
	got := []string{"head: " + strings.Join(table.Header(), "|")}
	for {
		rec, err := table.Next()
		var f *decode.Fault
		switch {
		case err == io.EOF:
			return got
		case errors.As(err, &f):
			got = append(got, f.Error())
		case err != nil:
			return append(got, err.Error())
		default:
			got = append(got, fmt.Sprintf("%d: %s", rec.Line, strings.Join(rec.Fields, "|")))
		}
	}
}

func TestTable(t *testing.T) {
	tests := []struct {
		name string
		in   string
		want []string
	}{
		{"comma", "id,text\n1,a\n2,b\n", []string{"head: id|text", "2: 1|a", "3: 2|b"}},
		{"semicolon, commas in the text", "id;text\n1;a,b,c\n", []string{"head: id|text", "2: 1|a,b,c"}},
		{"tab", "id\ttext\n1\ta\n", []string{"head: id|text", "2: 1|a"}},
		{"bar", "id|text\n1|a\n", []string{"head: id|text", "2: 1|a"}},
		{"stated", "sep=;\r\nid;x,y\r\n1;a\r\n", []string{"head: id|x,y", "3: 1|a"}},
		{"no end of line at the end", "id,text\n1,a", []string{"head: id|text", "2: 1|a"}},
		{"line ends of old", "id,text\r1,a\r2,b\r", []string{"head: id|text", "2: 1|a", "3: 2|b"}},
		{"quotes", "id,text\n1,\"a, \"\"b\"\"\"\n\"2\",\"\"\n", []string{"head: id|text", "2: 1|a, \"b\"", "3: 2|"}},
		{"quote within a bare field", "id,text\n1,5\" step\n", []string{"head: id|text", "2: 1|5\" step"}},
		{"quoted line ends", "id,text\r\n1,\"a\r\nb\rc\nd\"\r\n2,e\r\n", []string{"head: id|text", "2: 1|a\r\nb\nc\nd", "6: 2|e"}},
		{"empty lines and rows", "\n\nid,text\n\n,\n1,a\n  , \n", []string{"head: id|text", "6: 1|a"}},
		{"padded with empty columns", "id,text,,\n1,a,,\n2,b\n3,c,,,,\n", []string{"head: id|text", "2: 1|a", "3: 2|b", "4: 3|c"}},
		{"too few fields", "id,text\n1\n2,b\n", []string{"head: id|text", "line 2: want 2 fields as in the header, but there are 1", "3: 2|b"}},
		{"too many fields", "id,text\n1,a,b\n2,b\n", []string{"head: id|text", "line 2: want 2 fields as in the header, but there are 3", "3: 2|b"}},
		{"quotes not doubled", "id,text\n1,\"a \"b\" c\"\n2,b\n", []string{"head: id|text", "line 2: want quotes doubled within a quoted field (line 2 is left out)", "3: 2|b"}},
		{"quote closed records later", "id,text\n1,\"a\n2,b\n3,\"c\"\n4,d\n", []string{"head: id|text", "line 2: want quotes doubled within a quoted field (lines 2 to 4 are left out)", "5: 4|d"}},
		{"quote never closed", "id,text\n1,a\n2,\"b\n3,c", []string{"head: id|text", "2: 1|a", "line 3: want a closing quote before the end of the file (lines 3 to 4 are left out)"}},
		{"too long", "id,text\n1," + strings.Repeat("x", 200) + "\n2,b\n", []string{"head: id|text", "line 2: want a record of at most 100 bytes", "3: 2|b"}},
		{"too long in quotes", "id,text\n1,\"" + strings.Repeat("x\n", 200) + "\"\n2,b\n", []string{"head: id|text", "line 2: want a record of at most 100 bytes", "203: 2|b"}},
		{"too many delimiters", "id,text\n" + strings.Repeat(",", 200) + "\n2,b\n", []string{"head: id|text", "line 2: want a record of at most 100 bytes", "3: 2|b"}},
		{"Windows-1252", "id,text\n1,caf\xe9\n", []string{"head: id|text", "2: 1|café"}},
		{"header alone", "id,text", []string{"head: id|text"}},
		{"empty", "", []string{"EOF"}},
		{"blank", " \n\n", []string{"EOF"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if diff := cmp.Diff(tt.want, records(tt.in, 100)); diff != "" {
				t.Errorf("-want +got:\n%s", diff)
			}
		})
	}
}

func TestTornTable(t *testing.T) {
	in := encode(t, unicode.UTF16(unicode.BigEndian, unicode.UseBOM), "id,text\n1,a\n2,b") + "\x00"
	want := []string{"head: id|text", "2: 1|a", "line 3: want UTF-16 in units of two bytes, but the file ends within one"}
	if diff := cmp.Diff(want, records(in, 100)); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}

// FuzzTable holds that any input is read to its end, in valid UTF-8, in lines that go up, with as
// many fields as the header, none of them over the limit.
func FuzzTable(f *testing.F) {
	f.Add([]byte("id,text\n1,\"a\r\nb\"\"\"\n2,x\"y\n"))
	f.Add([]byte("sep=;\nid;text\n1;caf\xe9\n"))
	f.Add([]byte("\xff\xfei\x00d\x00,\x00t\x00\n\x001\x00,\x00"))
	f.Fuzz(func(t *testing.T, in []byte) {
		const limit = 64
		text, err := decode.Open(bytes.NewReader(in))
		if err != nil {
			return
		}
		table, err := decode.NewTable(text, limit, func(h []string) int { return len(h) })
		if err != nil {
			return
		}
		last := 0
		for range len(in) + 1 {
			rec, err := table.Next()
			if err == io.EOF {
				return
			}
			var fault *decode.Fault
			if errors.As(err, &fault) {
				rec.Line = fault.Line
			} else if err != nil {
				t.Fatal(err)
			}
			if rec.Line <= last {
				t.Fatalf("line %d after line %d", rec.Line, last)
			}
			last = rec.Line
			for _, s := range rec.Fields {
				if s != strings.ToValidUTF8(s, "?") || len(s) > 3*limit {
					t.Fatalf("field %q", s)
				}
			}
			if err == nil && len(rec.Fields) != len(table.Header()) {
				t.Fatalf("%d fields, the header has %d", len(rec.Fields), len(table.Header()))
			}
		}
		t.Fatal("no end")
	})
}

// TestCharacterAcrossFields holds that the halves of a character in two fields are no character.
func TestCharacterAcrossFields(t *testing.T) {
	text, err := decode.Open(strings.NewReader("a,b\nx\xc3,\xa9y\n"))
	if err != nil {
		t.Fatal(err)
	}
	table, err := decode.NewTable(text, 100, func([]string) int { return 0 })
	if err != nil {
		t.Fatal(err)
	}
	rec, err := table.Next()
	if want := []string{"xÃ", "©y"}; err != nil || !slices.Equal(rec.Fields, want) {
		t.Errorf("fields %q, %v; want %q, as in Windows-1252", rec.Fields, err, want)
	}
}
