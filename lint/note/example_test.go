package note_test

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"example.com/stance/lint/note"
)

func ExampleReader() {
	file := strings.NewReader(`Resident;Written;Position;Progress Note
R-0412;2026-11-24 21:40;PSW;Up in chair x2 with belt.
R-0412;;RN;Settled.
R-0655;24-Nov-2026 22:15;RN;No falls this shift.
`)
	r, err := note.NewReader("notes.csv", file, note.Options{
		Columns: map[string]string{"time": "Written", "role": "Position", "text": "Progress Note"},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for {
		n, err := r.Next()
		if err == io.EOF {
			return
		}
		var bad *note.BadRecord
		if errors.As(err, &bad) {
			fmt.Println(bad)
			continue
		}
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Println(n.Resident, n.Time.Format("15:04"), n.Role)
	}
	// Output:
	// R-0412 21:40 care worker
	// notes.csv:3: want "time", which is missing or empty
	// R-0655 22:15 nurse
}
