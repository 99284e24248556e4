package amend_test

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/text/encoding/unicode"

	"example.com/stance/lint/amend"
	"example.com/stance/lint/finding"
	"example.com/stance/lint/note"
)

func TestChanges(t *testing.T) {
	const text = "Lifted to chair, lifted to bed."
	propose := func(s finding.Severity, start, end int, words string) finding.Finding {
		return finding.Finding{Severity: s, Rewrite: &finding.Rewrite{Start: start, End: end, Text: words}}
	}
	for _, tt := range []struct {
		name string
		fs   []finding.Finding
		want string
	}{
		{"none", nil, text},
		{"no wording", []finding.Finding{{Severity: finding.Error}}, text},
		{"two, out of order", []finding.Finding{propose("hint", 17, 23, "transferred"), propose("hint", 0, 6, "Transferred")},
			"Transferred to chair, transferred to bed."},
		{"the same twice", []finding.Finding{propose("hint", 0, 6, "Transferred"), propose("warning", 0, 6, "Transferred")},
			"Transferred to chair, lifted to bed."},
		{"one over another: the worse", []finding.Finding{propose("hint", 0, 15, "In chair"), propose("error", 7, 15, "to wheelchair")},
			"Lifted to wheelchair, lifted to bed."},
		{"beside one another", []finding.Finding{propose("hint", 0, 6, "Moved"), propose("hint", 6, 7, "  ")}, "Moved  to chair, lifted to bed."},
		{"outside the text", []finding.Finding{propose("error", 0, 99, "x"), propose("error", -1, 2, "x"), propose("error", 5, 2, "x")}, text},
		{"no change", []finding.Finding{propose("error", 0, 6, "Lifted")}, text},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := amend.Apply(text, amend.Changes(text, tt.fs)); got != tt.want {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
}

func TestDiff(t *testing.T) {
	type hunks = []amend.Hunk
	for _, tt := range []struct {
		name, a, b string
		want       hunks
	}{
		{"same", "up in chair", "up in chair", hunks{{Equal: "up in chair"}}},
		{"empty", "", "", nil},
		{"a word", "Then lifted, twice.", "Then transferred, twice.", hunks{{Equal: "Then "}, {"", "lifted", "transferred"}, {Equal: ", twice."}}},
		{"words side by side", "was picked up to bed", "was transferred over to bed", hunks{{Equal: "was "}, {"", "picked up", "transferred over"}, {Equal: " to bed"}}},
		{"put in", "with walker x1", "with two-wheeled walker x1", hunks{{Equal: "with "}, {"", "walker", "two-wheeled walker"}, {Equal: " x1"}}},
		{"left out", "lifted her up to chair", "lifted her to chair", hunks{{Equal: "lifted her "}, {"", "up to", "to"}, {Equal: " chair"}}},
		{"put in at the end", "with walker", "with walker again", hunks{{Equal: "with "}, {"", "walker", "walker again"}}},
		{"all", "lifted", "moved", hunks{{"", "lifted", "moved"}}},
		{"from nothing", "", "moved", hunks{{"", "", "moved"}}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got := amend.Diff(tt.a, tt.b)
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Errorf("Diff(%q, %q) (-want +got):\n%s", tt.a, tt.b, diff)
			}
		})
	}
}

func FuzzDiff(f *testing.F) {
	f.Add("with walker x1", "with two-wheeled walker x1")
	f.Add("lifted her up", "transferred her")
	f.Add(" a ", "a  b\n")
	f.Fuzz(func(t *testing.T, a, b string) {
		a, b = strings.ToValidUTF8(a, "?"), strings.ToValidUTF8(b, "?")
		var first, second strings.Builder
		for _, h := range amend.Diff(a, b) {
			first.WriteString(h.Equal + h.Original)
			second.WriteString(h.Equal + h.Proposed)
		}
		if first.String() != a || second.String() != b {
			t.Errorf("Diff(%q, %q) joins to %q and %q", a, b, first.String(), second.String())
		}
	})
}

// Each file has a note before and one after that must stay as they are, byte by byte.
func TestFile(t *testing.T) {
	const old, amended = "Lifted to \"big\" chair.\nSlept, café.", "Transferred to \"big\" chair.\nSlept, café."
	zone := time.UTC
	utf16 := func(s string) string {
		b, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().String(s)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	const csv = "resident,more,time,text,note\r\nR-1,\"Lifted\",2026-11-24T08:00:00Z,Lifted.,N1\r\n" +
		"R-2,\"a,b\",2026-11-24T09:00:00Z,\"Lifted to \"\"big\"\" chair.\nSlept, café.\",N2\r\nR-3,,2026-11-24T08:00:00Z,Lifted.,N3\r\n"
	const plain = "Resident: R-1\nTime: 2026-11-24T08:00:00Z\nNote: N1\n\nLifted.\n---\n" +
		"Resident: R-2\nTime: 2026-11-24T09:00:00Z\nNote: N2\n\nLifted to \"big\" chair.\nSlept, café.\n\n---\nResident: R-3\nTime: 2026-11-24T08:00:00Z\n\nLifted.\n"
	const jsonl = `{"note":"N1","resident":"R-1","time":"2026-11-24T08:00:00Z","text":"Lifted."}` + "\n\n" +
		`{ "x": {"text": 1}, "text" : "Lifted to \"big\" chair.\nSlept, caf\u00e9.", "note":"N2","resident":"R-2","time":"2026-11-24T09:00:00Z"}` + "\nbad\n"
	for _, tt := range []struct {
		name, file, content string
		line                int
		old, new            string // what stands in the content
	}{
		{"JSON Lines", "n.jsonl", jsonl, 3, `"Lifted to \"big\" chair.\nSlept, caf\u00e9."`, `"Transferred to \"big\" chair.\nSlept, café."`},
		{"JSON Lines by content", "n.txt", "\uFEFF" + jsonl, 3, `"Lifted to \"big\" chair.\nSlept, caf\u00e9."`, `"Transferred to \"big\" chair.\nSlept, café."`},
		{"CSV", "n.csv", csv, 3, "Lifted to", "Transferred to"},
		{"CSV, byte order mark", "n.csv", "\uFEFF" + csv, 3, "Lifted to", "Transferred to"},
		{"CSV, Windows-1252", "n.csv", strings.ReplaceAll(csv, "é", "\xe9"), 3, "Lifted to", "Transferred to"},
		{"CSV, UTF-16", "n.csv", utf16(csv), 3, utf16("Lifted to")[2:], utf16("Transferred to")[2:]},
		{"semicolons by content", "n.dat", strings.NewReplacer("a,b", "a;b", "Slept, ", "Slept, ", ",", ";").Replace(csv), 3, "Lifted to", "Transferred to"},
		{"plain", "n.txt", plain, 7, "Lifted to", "Transferred to"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			texts := []amend.Text{{Note: "N2", Line: tt.line, Original: old, Proposed: amended}}
			got, err := amend.File(tt.file, []byte(tt.content), texts, note.Options{Zone: zone})
			if err != nil {
				t.Fatal(err)
			}
			want := strings.Replace(tt.content, tt.old, tt.new, 1)
			if want == tt.content {
				t.Fatal("the case changes nothing")
			}
			if diff := cmp.Diff(want, string(got)); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

func TestFileRefuses(t *testing.T) {
	const jsonl = `{"note":"N1","resident":"R-1","time":"2026-11-24T08:00:00Z","text":"Lifted."}` + "\n"
	// The same words stand in a column before the text, where they would be taken for it.
	const twice = "resident,time,summary,text,note\nR-1,2026-11-24T08:00:00Z,Lifted.,Lifted.,N1\n"
	const plain = "Resident: R-1\nTime: 2026-11-24T08:00:00Z\nNote: N1\n\nLifted.\n"
	for _, tt := range []struct {
		name, file, content string
		text                amend.Text
	}{
		{"another text", "n.jsonl", jsonl, amend.Text{Note: "N1", Line: 1, Original: "Walked.", Proposed: "x"}},
		{"another note", "n.jsonl", jsonl, amend.Text{Note: "N7", Line: 1, Original: "Lifted.", Proposed: "x"}},
		{"past the end", "n.jsonl", jsonl, amend.Text{Note: "N1", Line: 9, Original: "Lifted.", Proposed: "x"}},
		{"another column", "n.csv", twice, amend.Text{Note: "N1", Line: 2, Original: "Lifted.", Proposed: "x"}},
		{"a line that ends the note", "n.txt", plain, amend.Text{Note: "N1", Line: 1, Original: "Lifted.", Proposed: "x\n---\ny"}},
		{"not in the note", "n.txt", plain, amend.Text{Note: "N1", Line: 1, Original: "Walked.", Proposed: "x"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := amend.File(tt.file, []byte(tt.content), []amend.Text{tt.text}, note.Options{Zone: time.UTC})
			var place *amend.PlaceError
			if !errors.As(err, &place) {
				t.Fatalf("File: %v, want a place that does not fit", err)
			}
			if strings.Contains(err.Error(), "Lifted") {
				t.Errorf("the error repeats the note: %v", err)
			}
		})
	}
}

func TestFileWithNothingToChange(t *testing.T) {
	content := []byte("Resident: R-1\r\nTime: 2026-11-24 08:00\r\n\r\nUp.\r\n")
	got, err := amend.File("n.txt", content, nil, note.Options{})
	if err != nil || !bytes.Equal(got, content) {
		t.Errorf("File = %q, %v, want the content as it was", got, err)
	}
}
