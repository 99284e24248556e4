package parquetfile

import (
	"bytes"
	"errors"
	"io"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/parquet-go/parquet-go"

	"example.com/stance/lint/note"
)

// A stamped row has what exports have: a moment as a number, a number for an id, a list that is no field.
type stamped struct {
	ID    int64     `parquet:"note"`
	Who   *string   `parquet:"resident,optional"`
	When  time.Time `parquet:"time,timestamp(microsecond)"`
	Words string    `parquet:"Progress Note"`
	Tags  []string  `parquet:"tags,list"`
	Done  bool      `parquet:"done"`
}

func stampedFile(t testing.TB) []byte {
	t.Helper()
	var b bytes.Buffer
	w := parquet.NewGenericWriter[stamped](&b, parquet.MaxRowsPerRowGroup(2))
	who := "R-1"
	at := time.Date(2026, 11, 24, 21, 40, 0, 250_000_000, time.UTC)
	rows := []stamped{{7, &who, at, "Slept.\n\"Fine\"", []string{"a", "b"}, true}, {8, nil, at, "Slept.", nil, false}, {9, &who, at, "Walked.", nil, false}}
	if _, err := w.Write(rows); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestParquet(t *testing.T) {
	table, shut, err := Open(bytes.NewReader(stampedFile(t)))
	if err != nil {
		t.Fatal(err)
	}
	defer shut()
	lines, err := io.ReadAll(table.Lines(map[string]string{"text": "progress note"}))
	if err != nil {
		t.Fatal(err)
	}
	want := `{"done":"true","note":"7","resident":"R-1","text":"Slept.\n\"Fine\"","time":"2026-11-24T21:40:00.25Z"}
{"done":"false","note":"8","resident":"","text":"Slept.","time":"2026-11-24T21:40:00.25Z"}
{"done":"false","note":"9","resident":"R-1","text":"Walked.","time":"2026-11-24T21:40:00.25Z"}
`
	if diff := cmp.Diff(want, string(lines)); diff != "" {
		t.Errorf("lines (-want +got)\n%s", diff)
	}
	rows, err := io.ReadAll(table.CSV())
	if err != nil {
		t.Fatal(err)
	}
	if head, _, _ := strings.Cut(string(rows), "\n"); head != "note,resident,time,Progress Note,done" {
		t.Errorf("header %q", head)
	}
	if _, err := note.NewReader("x.parquet", bytes.NewReader(lines), note.Options{}); err != nil {
		t.Error(err)
	}
}

// FuzzParquet: whatever a file holds, it is read to its end or told to be none, and its copy is taken away.
func FuzzParquet(f *testing.F) {
	whole := stampedFile(f)
	f.Add(whole)
	f.Add(whole[:len(whole)/2])
	f.Add([]byte("PAR1PAR1"))
	f.Fuzz(func(t *testing.T, b []byte) {
		tmp := t.TempDir()
		t.Setenv("TMPDIR", tmp)
		table, shut, err := Open(bytes.NewReader(b))
		if err == nil {
			for _, r := range []io.Reader{table.Lines(nil), table.CSV()} {
				if _, err := io.Copy(io.Discard, r); err != nil && !errors.Is(err, ErrNone) {
					t.Errorf("%v, want rows or that it is no Parquet", err)
				}
			}
			if err := shut(); err != nil {
				t.Error(err)
			}
		} else if !errors.Is(err, ErrNone) {
			t.Errorf("%v, want that it is no Parquet", err)
		}
		if left, _ := os.ReadDir(tmp); len(left) > 0 {
			t.Errorf("%d files are left behind", len(left))
		}
	})
}
