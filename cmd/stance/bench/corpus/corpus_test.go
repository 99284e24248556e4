package corpus_test

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"example.com/stance/cmd/stance/bench/corpus"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/note"
)

func lines(t *testing.T, h corpus.Home) string {
	t.Helper()
	var b bytes.Buffer
	if err := h.Write(corpus.JSONLines(&b)); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// TestWrite reads back what a seed gives: as many notes as asked for, on so many residents, in the order of
// shifts, the same for the same seed only, and some 300 bytes long.
func TestWrite(t *testing.T) {
	h := corpus.Home{Seed: 7, Notes: 2000, Residents: 50}
	text := lines(t, h)
	other := h
	other.Seed++
	if lines(t, h) != text || lines(t, other) == text {
		t.Error("want the same notes for the same seed only")
	}
	r, err := note.NewReader("notes.jsonl", strings.NewReader(text), note.Options{Zone: time.UTC})
	if err != nil {
		t.Fatal(err)
	}
	residents, size := map[string]bool{}, 0
	var last note.Note
	for i := range h.Notes {
		n, err := r.Next()
		if err != nil {
			t.Fatal(err)
		}
		if i > 0 && n.Time.Before(last.Time.Add(-8*time.Hour)) {
			t.Errorf("note %s is of %s, after one of %s", n.ID, n.Time, last.Time)
		}
		residents[n.Resident], last = true, n
		size += len(n.Text)
	}
	if mean := size / h.Notes; len(residents) != h.Residents || mean < 200 || mean > 400 {
		t.Errorf("%d residents, notes of %d bytes; want %d and some 300", len(residents), mean, h.Residents)
	}
	if day, name, _ := strings.Cut(h.LastShift(), "/"); name != last.Shift || day != last.Time.Add(-7*time.Hour).Format(time.DateOnly) {
		t.Errorf("LastShift is %s, the last note of %s on %s", h.LastShift(), last.Time, last.Shift)
	}
}

func TestWriteChart(t *testing.T) {
	h := corpus.Home{Seed: 7, Notes: 2000, Residents: 50}
	var b bytes.Buffer
	if err := h.WriteChart(&b); err != nil {
		t.Fatal(err)
	}
	ch, bad, err := chart.Read("chart.csv", &b, time.UTC)
	if err != nil || len(bad) > 0 {
		t.Fatalf("the chart: %v, %d bad rows", err, len(bad))
	}
	for r := range h.Residents {
		if len(ch.Rows(h.Resident(r))) == 0 {
			t.Errorf("no row for %s", h.Resident(r))
		}
	}
}

// TestWriteNext holds that the next shift comes behind all notes and repeats no id.
func TestWriteNext(t *testing.T) {
	h := corpus.Home{Seed: 7, Notes: 2000, Residents: 60}
	var b bytes.Buffer
	if err := h.WriteNext(corpus.JSONLines(&b), 30); err != nil {
		t.Fatal(err)
	}
	all := lines(t, h)
	for line := range strings.Lines(b.String()) {
		id, _, _ := strings.Cut(line, ",")
		if strings.Contains(all, id) {
			t.Errorf("%s is the id of another note", id)
		}
	}
	if n := strings.Count(b.String(), "\n"); n != 30 {
		t.Errorf("%d notes, want 30", n)
	}
}
