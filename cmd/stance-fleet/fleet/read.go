package fleet

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
	"path"
	"strings"

	"github.com/apache/beam/sdks/v2/go/pkg/beam/io/filesystem"

	"example.com/stance/cmd/stance-fleet/fleet/parquetfile"
	"example.com/stance/lint"
	"example.com/stance/lint/audit"
	"example.com/stance/lint/bounded"
	"example.com/stance/lint/chart"
	"example.com/stance/lint/note"
)

// A File is one to be read.
type File struct {
	Name  string
	Home  string // whose records are in it; empty where each names its own
	Chart bool   // it is a chart and no notes
}

// mostChart is the most bytes of one chart file.
const mostChart = 64 * bounded.MiB

// readFn reads a file whole. A file is the smallest piece of reading, because only from its beginning can the line of a
// record be told, and where a record of a table starts.
type readFn struct {
	Job Job

	read *reading
	work *lint.Piecework
}

func (f *readFn) Setup() error {
	var err error
	if f.read, err = f.Job.reading(); err != nil {
		return err
	}
	f.work, err = f.read.shifts()
	return err
}

// A readOut is where what was read goes.
type readOut struct {
	notes, shifts, rows, items, tallies func(string, []byte)
}

func (f *readFn) ProcessElement(ctx context.Context, ref string, notes, shifts, rows, items, tallies func(string, []byte)) error {
	var file File
	if err := json.Unmarshal([]byte(ref), &file); err != nil {
		return errWire
	}
	out := readOut{notes, shifts, rows, items, tallies}
	fs, err := filesystem.New(ctx, file.Name)
	if err != nil {
		return err
	}
	defer fs.Close()
	opened, err := fs.OpenRead(ctx, file.Name)
	if err != nil {
		return err
	}
	defer opened.Close()
	in := &watched{r: opened}
	var content io.Reader = in
	if strings.EqualFold(path.Ext(file.Name), ".parquet") {
		table, shut, err := parquetfile.Open(in)
		switch {
		case in.err != nil:
			return fmt.Errorf("%s: %w", file.Name, in.err)
		case errors.Is(err, parquetfile.ErrNone):
			return f.dead(out, &file, 1, parquetfile.ErrNone.Error(), lost{})
		case err != nil:
			return err
		}
		defer shut()
		content = table.Lines(f.Job.Columns)
		if file.Chart {
			content = table.CSV()
		}
	} else {
		start := bufio.NewReader(in)
		if b, _ := start.Peek(len(archive)); string(b) == archive {
			return f.dead(out, &file, 0, "want a table, JSON Lines or Parquet; save the sheet of a workbook as CSV", lost{})
		}
		content = start
	}
	if file.Chart {
		err = f.chart(&file, content, out)
	} else {
		err = f.notes(&file, content, out)
	}
	if in.err != nil {
		return fmt.Errorf("%s: %w", file.Name, in.err) // which may pass, so the runner tries again
	}
	return err
}

// archive is what a ZIP archive, and with it a workbook, starts with (APPNOTE 6.3.10, 2022, 4.3.7). Workbooks are for
// hands: what a system writes for a whole group of homes comes as a table, and its lines are what dead letters name.
const archive = "PK\x03\x04"

// watched tells errors of reading from those of what was read.
type watched struct {
	r   io.Reader
	err error
}

func (w *watched) Read(p []byte) (int, error) {
	n, err := w.r.Read(p)
	if err != nil && !errors.Is(err, io.EOF) {
		w.err = err
	}
	return n, err
}

func (f *readFn) notes(file *File, content io.Reader, out readOut) error {
	columns := f.Job.Columns
	if strings.EqualFold(path.Ext(file.Name), ".parquet") {
		columns = nil // they have been renamed
	}
	r, err := note.NewReader(file.Name, content, note.Options{
		Zone: f.read.zone, Columns: columns, Roles: f.read.policy.Roles, Home: f.Job.HomeField,
	})
	var bad *note.BadRecord
	if errors.As(err, &bad) {
		return f.dead(out, file, bad.Line, "want "+bad.Want, lost{})
	}
	if err != nil {
		return f.dead(out, file, 0, "the file cannot be read as notes", lost{})
	}
	for at := 0; ; at++ {
		n, err := r.Next()
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case errors.As(err, &bad):
			if err := f.dead(out, file, bad.Line, "want "+bad.Want, lost{notes: 1}); err != nil {
				return err
			}
			continue
		case err != nil:
			return f.dead(out, file, 0, "the file cannot be read to its end", lost{})
		}
		home := file.Home
		if f.Job.HomeField != "" {
			home = n.Home
		}
		o := origin{file.Name, at, n.Source.Line}
		k := f.work.ShiftOf(&n)
		out.notes(key(home, n.Resident), packNote(o, &n, f.read.zone))
		if !f.work.AsksWords(n.Text) {
			n.ID, n.Unit, n.Author, n.Text = "", "", "", "" // that there is a note is all that is asked
		}
		out.shifts(key(home, ordered(k.Day)+ordered(k.Slot)), packNote(o, &n, f.read.zone))
	}
}

func (f *readFn) chart(file *File, content io.Reader, out readOut) error {
	at := 0
	var broken error
	bad, err := chart.EachRow(file.Name, bounded.Reader(content, mostChart), f.read.zone, f.Job.HomeField, func(r chart.HomeRow) {
		home := file.Home
		if f.Job.HomeField != "" {
			home = r.Home
		}
		b, err := packRow(&sentRow{file.Name, at, r.Row})
		if err != nil {
			broken = err
			return
		}
		at++
		out.rows(key(home, r.Resident), b)
	})
	if broken != nil {
		return broken
	}
	for _, b := range bad {
		if err := f.dead(out, file, b.Line, b.What, lost{rows: 1}); err != nil {
			return err
		}
	}
	if err != nil {
		return f.dead(out, file, 1, strings.TrimPrefix(err.Error(), file.Name+": "), lost{})
	}
	return nil
}

// lost is how many records a tally has to say could not be read.
type lost struct{ notes, rows int }

// dead writes a record that could not be read among the dead letters, and counts it.
func (f *readFn) dead(out readOut, file *File, line int, reason string, n lost) error {
	if err := deadLetter(out.items, f.Job.Shards, file.Name, line, reason); err != nil {
		return err
	}
	if n == (lost{}) {
		return nil
	}
	t := f.Job.tally(f.work, f.read.policy)
	t.AddUnread(audit.Unread{Notes: n.notes, Rows: n.rows})
	b, err := t.Partial()
	if err != nil {
		return err
	}
	out.tallies(file.Home, b)
	return nil
}

// deadLetter writes a line that says what could not be read, and never what stands there.
func deadLetter(items func(string, []byte), shards int, file string, line int, reason string) error {
	b, err := jsonLine(struct {
		File   string `json:"file"`
		Line   int    `json:"line"` // 0: the file as a whole
		Reason string `json:"reason"`
	}{file, line, reason})
	if err != nil {
		return err
	}
	items(shardName(deadName, shardOf(file, shards)), packItem(key(file, ordered(line)+reason), b))
	return nil
}

func shardOf(s string, shards int) int {
	h := fnv.New64a()
	io.WriteString(h, s) // a hash takes all
	return int(h.Sum64() % uint64(shards))
}
