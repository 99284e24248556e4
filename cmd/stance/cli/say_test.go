package cli

import (
	"strings"
	"testing"
)

// TestSay holds that nothing that a file or a flag is called reaches the terminal as it stands.
func TestSay(t *testing.T) {
	var err strings.Builder
	a := &app{err: &err}
	a.say("%s: no such file", "notes\x1b[2J\nof\u202emay.jsonl")
	if got, want := err.String(), "stance: notes [2J of may.jsonl: no such file\n"; got != want {
		t.Errorf("said %q, want %q", got, want)
	}
}
