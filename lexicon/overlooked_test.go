package lexicon_test

import (
	"bufio"
	"encoding/json"
	"os"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.com/stance/lexicon"
)

func TestOverlooked(t *testing.T) {
	lex, err := lexicon.New()
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		text string
		want []string
	}{
		{"Quorvel x2 to the commode at 0900. Slept well.", []string{"Quorvel x2 to the commode at 0900"}},
		{"Ate lunch.\nA: Pivot no longer safe.\n\nSlept.", []string{"A: Pivot no longer safe"}},
		{"good stand. slept", []string{"good stand"}},
		// what was read is not overlooked, nor is what only sounds like a move
		{"Walked to the lounge with cane x1.", nil},
		{"No dizziness on standing.", nil},
		{"Transfer of the pension papers is with the office.", nil},
		{"Mrs Walker brought a plant and its stand.", nil},
		{"Lift back on charge.", nil},
		{"Carried her tray to the table.", nil},
		{"Pad changed x2.", nil},
		{"Focus: Mobility", nil},
		{"Arm sling on, to be worn in bed.", nil},
		{"", nil},
	} {
		var got []string
		for _, s := range lex.Read(tt.text, lexicon.CareWorker).Overlooked {
			got = append(got, tt.text[s.Start:s.End])
			if s.Line == 0 || s.Column == 0 {
				t.Errorf("%q: the place has no line and column: %+v", tt.text, s)
			}
		}
		if diff := cmp.Diff(tt.want, got); diff != "" {
			t.Errorf("%q: -want +got:\n%s", tt.text, diff)
		}
	}
}

// What is shown of every note would be passed over by its readers, so it is held to be rare: none in notes that are
// read whole, and few in a home's.
func TestOverlookedIsRare(t *testing.T) {
	lex, err := lexicon.New()
	if err != nil {
		t.Fatal(err)
	}
	for file, most := range map[string]int{"../testdata/gold/clean/clean.jsonl": 0, "../testdata/demo/notes.jsonl": 4} {
		f, err := os.Open(file)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		lines, notes, found := bufio.NewScanner(f), 0, 0
		for lines.Scan() {
			var n struct {
				Text string
				Role lexicon.Role
			}
			if err := json.Unmarshal(lines.Bytes(), &n); err != nil {
				t.Fatal(err)
			}
			notes++
			found += len(lex.Read(n.Text, n.Role).Overlooked)
		}
		if lines.Err() != nil || notes < 400 || found > most {
			t.Errorf("%s: %d sentences overlooked in %d notes, want at most %d; %v", file, found, notes, most, lines.Err())
		}
	}
}
