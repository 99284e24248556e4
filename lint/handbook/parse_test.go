package handbook

import (
	"os"
	"slices"
	"strings"
	"testing"

	"example.com/stance/lint/rules"
)

// Every archive is taught, so that none is forgotten in the list.
func TestOrder(t *testing.T) {
	files, err := archives.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if id := strings.TrimSuffix(f.Name(), ".txt"); !slices.Contains(order(), id) {
			t.Errorf("%s is the text of no topic in the list", f.Name())
		}
	}
}

func TestParse(t *testing.T) {
	b, err := os.ReadFile("falls.txt")
	if err != nil {
		t.Fatal(err)
	}
	whole := string(b)
	known, err := rules.All()
	if err != nil {
		t.Fatal(err)
	}
	topic, err := parse("falls.txt", b, known)
	if err != nil {
		t.Fatal(err)
	}
	if len(topic.Introduction) < 2 || len(topic.Practice) != practices || len(topic.Practice[2].Finds) != 0 || len(topic.Practice[0].Finds) == 0 {
		t.Errorf("parse = %+v", topic)
	}
	without := func(section string) string {
		_, after, _ := strings.Cut(whole, "-- "+section+" --\n")
		body, _, _ := strings.Cut(after, "-- ")
		return strings.Replace(whole, "-- "+section+" --\n"+body, "", 1)
	}
	for _, tt := range []struct{ name, text, want string }{
		{"no title", without("title"), `falls.txt:1: section "title" is missing`},
		{"no question", without("note 2 asks"), `section "note 2 asks" is missing`},
		{"no findings", without("note 3 finds"), `section "note 3 finds" is missing`},
		{"twice", whole + "-- learn --\nz\n", `section "learn" stands twice`},
		{"unknown", "-- titel --\na\n" + whole, `falls.txt:1: section "titel" is unknown`},
		{"a note too many", whole + "-- note 4 notes --\nz\n", `section "note 4 notes" is unknown`},
		{"empty", strings.Replace(whole, "-- learn --\n", "-- learn --\n\n-- rubbish --\n", 1), `section "learn" is empty`},
		{"no such rule", strings.Replace(whole, "hazard-left\n", "hazard-right\n", 1), `"hazard-right" is no rule`},
	} {
		if _, err := parse("falls.txt", []byte(tt.text), known); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: error %v, want %q in it", tt.name, err, tt.want)
		}
	}
	// A chart may be left out.
	if _, err := parse("falls.txt", []byte(without("note 1 chart")), known); err != nil {
		t.Error(err)
	}
}
