// Package parquetfile reads files of Parquet as JSON Lines or CSV. It knows nothing of Beam, so that it can be fuzzed: a
// fuzzing build counts the steps of every package that it is linked with.
package parquetfile

import (
	"bufio"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"
	"time"

	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/format"
)

// A Table is a file of Parquet. Its rows are written anew as JSON Lines or CSV and so go through the readers that all
// other files go through; the line of a record is the number of its row, and one more in a chart, after the header.
type Table struct {
	file    *parquet.File
	columns []column // of a single value a row, by place
}

type column struct {
	name string
	leaf parquet.LeafColumn
}

// ErrNone says that a file is no Parquet, or a damaged one.
var ErrNone = errors.New("want a Parquet file")

// Open keeps a copy of the file in the temporary folder, because Parquet is read from its end. The function takes
// it away.
func Open(r io.Reader) (t *Table, shut func() error, err error) {
	tmp, err := os.CreateTemp("", "stance-fleet-*.parquet")
	if err != nil {
		return nil, nil, err
	}
	drop := func() error { return errors.Join(tmp.Close(), os.Remove(tmp.Name())) }
	defer func() {
		if p := recover(); p != nil { // the library panics over some damaged files
			err = ErrNone
		}
		if err != nil {
			err = errors.Join(err, drop())
		}
	}()
	size, err := io.Copy(tmp, r)
	if err != nil {
		return nil, nil, err
	}
	file, err := parquet.OpenFile(tmp, size)
	if err != nil {
		return nil, nil, ErrNone
	}
	t = &Table{file: file}
	for _, path := range file.Schema().Columns() {
		leaf, ok := file.Schema().Lookup(path...)
		if ok && len(path) == 1 && !leaf.Node.Repeated() {
			t.columns = append(t.columns, column{path[0], leaf})
		}
	}
	return t, drop, nil
}

// Lines are the rows as JSON Lines. renamed gives fields the columns that they are under.
func (t *Table) Lines(renamed map[string]string) io.Reader {
	names := make([]string, len(t.columns))
	for i, c := range t.columns {
		names[i] = c.name
		for field, of := range renamed {
			if strings.EqualFold(of, c.name) {
				names[i] = field
			}
		}
	}
	return piped(func(w *bufio.Writer) error {
		enc := json.NewEncoder(w)
		enc.SetEscapeHTML(false)
		return t.each(func(values []string) error {
			row := make(map[string]string, len(values))
			for i, v := range values {
				row[names[i]] = v
			}
			return enc.Encode(row)
		})
	})
}

// CSV is the rows as a table with a header.
func (t *Table) CSV() io.Reader {
	return piped(func(w *bufio.Writer) error {
		c := csv.NewWriter(w)
		names := make([]string, len(t.columns))
		for i := range t.columns {
			names[i] = t.columns[i].name
		}
		if err := c.Write(names); err != nil {
			return err
		}
		if err := t.each(c.Write); err != nil {
			return err
		}
		c.Flush()
		return c.Error()
	})
}

// piped is what write writes. Who reads it must read it to its end or error.
func piped(write func(*bufio.Writer) error) io.Reader {
	r, w := io.Pipe()
	go func() {
		buf := bufio.NewWriter(w)
		err := write(buf)
		w.CloseWithError(errors.Join(err, buf.Flush())) // nil is the end
	}()
	return r
}

const rowsAtOnce = 64

// each hands over the values of one row after another.
func (t *Table) each(take func([]string) error) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = ErrNone
		}
	}()
	for _, group := range t.file.RowGroups() {
		if err := t.group(group, take); err != nil {
			return err
		}
	}
	return nil
}

func (t *Table) group(group parquet.RowGroup, take func([]string) error) error {
	rows := group.Rows()
	defer rows.Close()
	buf := make([]parquet.Row, rowsAtOnce)
	at := map[int]int{} // place of a leaf in columns
	for i, c := range t.columns {
		at[c.leaf.ColumnIndex] = i
	}
	for {
		n, err := rows.ReadRows(buf)
		for _, row := range buf[:n] {
			values := make([]string, len(t.columns))
			for _, v := range row {
				if i, ok := at[v.Column()]; ok && !v.IsNull() {
					values[i] = t.columns[i].text(v)
				}
			}
			if err := take(values); err != nil {
				return err
			}
		}
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return ErrNone
		}
	}
}

// text is a value as the other forms have it.
func (c *column) text(v parquet.Value) string {
	if l := c.leaf.Node.Type().LogicalType(); l != nil && v.Kind() == parquet.Int64 {
		if of, ok := l.Value.(*format.TimestampType); ok && of.Unit.Value != nil {
			return stamp(v.Int64(), of)
		}
	}
	switch v.Kind() {
	case parquet.ByteArray, parquet.FixedLenByteArray:
		return string(v.ByteArray())
	case parquet.Int32:
		return strconv.Itoa(int(v.Int32()))
	case parquet.Int64:
		return strconv.FormatInt(v.Int64(), 10)
	case parquet.Boolean:
		return strconv.FormatBool(v.Boolean())
	}
	return fmt.Sprint(v)
}

// stamp is a moment in UTC or, where the file says that it is a wall clock's, without a zone.
func stamp(n int64, of *format.TimestampType) string {
	unit := int64(of.Unit.Value.Duration())
	perSecond := int64(time.Second) / unit
	t := time.Unix(n/perSecond, n%perSecond*unit).UTC()
	if of.IsAdjustedToUTC {
		return t.Format(time.RFC3339Nano)
	}
	return t.Format("2006-01-02T15:04:05.999999999")
}
