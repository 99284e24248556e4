package note_test

import (
	"io"
	"strings"
	"testing"
	"time"

	"example.com/stance/lint/note"
)

func BenchmarkNext(b *testing.B) {
	const records = 1000
	rows := table[strings.IndexByte(table, '\n')+1:]
	sheet := [][]any{{"note", "resident", "unit", "time", "shift", "role", "author", "text"}}
	for range records {
		sheet = append(sheet, []any{"N7", "R-0412", "Birch", time.Date(2026, 11, 24, 21, 40, 0, 0, time.UTC), "evening", "care worker", "A17", "Up in chair x2,\nsettled after café."})
	}
	for name, in := range map[string]string{
		"n.xlsx":  string(workbook(b, "Notes", sheet...)),
		"n.jsonl": strings.Repeat(jsonl, records),
		"n.csv":   table[:len(table)-len(rows)] + strings.Repeat(rows, records),
		"n.txt":   strings.Repeat(plain+"---\n", records),
	} {
		b.Run(name, func(b *testing.B) {
			b.SetBytes(int64(len(in)))
			for b.Loop() {
				r, err := note.NewReader(name, strings.NewReader(in), note.Options{Zone: home(), Sheet: "Notes"})
				if err != nil {
					b.Fatal(err)
				}
				n := 0
				for ; err != io.EOF; n++ {
					if _, err = r.Next(); err != nil && err != io.EOF {
						b.Fatal(err)
					}
				}
				if n-1 != records {
					b.Fatalf("%d notes, want %d", n-1, records)
				}
			}
		})
	}
}
