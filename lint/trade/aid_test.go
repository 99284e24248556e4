package trade_test

import (
	"strings"
	"testing"

	"example.com/stance/lexicon"
	"example.com/stance/lint/trade"
)

// A name goes into wording that is proposed for a note, so it has to say the aid to the reader of notes too.
func TestNamesReadAsTheirAid(t *testing.T) {
	lex, err := lexicon.New()
	if err != nil {
		t.Fatal(err)
	}
	asked := 0
	for _, c := range lex.Concepts() {
		id, ok := strings.CutPrefix(c.ID, "aid.")
		if !ok || len(c.Says) == 0 || id == "none" || id == "fit" || id == "fault" || id == "altered" || strings.Contains(id, "#") {
			continue
		}
		text := "Transferred with " + trade.Aid(id).One() + ". Uses " + trade.Aid(id).One() + "."
		found := false
		for _, s := range lex.Read(text, lexicon.CareWorker).Statements {
			found = found || s.HasAid(id) || s.Method == id || s.Concept == c.ID
		}
		if asked++; !found {
			t.Errorf("%q does not tell of %s", text, c.ID)
		}
	}
	if asked < 15 {
		t.Errorf("asked about %d aids, want all of them", asked)
	}
}

func TestCovers(t *testing.T) {
	for _, tt := range []struct {
		general, kind trade.Aid
		want          bool
	}{
		{"walker", "walker-2w", true}, {"crutch", "crutch-forearm", true}, {"walker", "walker", false},
		{"walker-2w", "walker", false}, {"cane", "cane-quad", false},
	} {
		if got := tt.general.Covers(tt.kind); got != tt.want {
			t.Errorf("%s covers %s: %t, want %t", tt.general, tt.kind, got, tt.want)
		}
	}
}
