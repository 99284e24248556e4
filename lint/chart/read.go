package chart

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.com/stance/lint/internal/decode"
	"example.com/stance/lint/internal/sheet"
	"example.com/stance/lint/internal/when"
	"example.com/stance/lint/nearest"
)

// maxRow bounds one row of a chart file, in bytes.
const maxRow = 64 << 10

// Read reads a chart from CSV with a header; the columns may stand in any order, name and room may be left out, and
// others among them are passed over. It takes the delimiters and encodings that spreadsheets save. Times without
// an offset are in zone (nil: the machine's).
//
// The second result is the rows that could not be read, in the order of the file, each error with
// "name:line: " and what was expected; the chart has the others. Rows that are in force at one time
// are among them and stay in the chart: the later one counts. The last result is an error of the
// file as a whole, and then there is no chart.
func Read(name string, r io.Reader, zone *time.Location) (*Chart, []error, error) {
	text, err := decode.Open(r)
	if err != nil {
		return nil, nil, place(name, err)
	}
	return read(name, text, zone)
}

func read(name string, text *decode.Text, zone *time.Location) (*Chart, []error, error) {
	var rows []Row
	bad, err := eachRow(name, text, zone, "", func(r HomeRow) { rows = append(rows, r.Row) })
	if err != nil {
		return nil, nil, err
	}
	c, clashes := build(rows)
	return c, located(name, "", append(bad, clashes...)), nil
}

// readBook reads a sheet of a workbook.
func readBook(name string, r io.Reader, opt Options) (*Chart, []error, error) {
	table, err := sheet.Open(r, sheet.Options{Sheet: opt.Sheet, Limit: maxRow, Wanted: wanted})
	if err == io.EOF {
		return nil, nil, empty(name)
	}
	if err != nil {
		return nil, nil, place(name, err)
	}
	cols, err := columnsOf(table.Header(), "")
	if err != nil {
		return nil, nil, fmt.Errorf("%s, sheet '%s': %w", name, table.Name(), err)
	}
	table.TimesIn(cols.at[slices.Index(columns(), "from")], cols.at[slices.Index(columns(), "until")])
	var rows []Row
	bad, err := readTable(name, table, cols, opt.Zone, func(r HomeRow) { rows = append(rows, r.Row) })
	if err != nil {
		return nil, nil, err
	}
	c, clashes := build(rows)
	return c, located(name, table.Name(), append(bad, clashes...)), nil
}

// A HomeRow is a row of a file that has the charts of several homes.
type HomeRow struct {
	Home string
	Row
}

// EachRow hands the rows of a file to take, as they stand there; what [Read] tells of rows that clash is left to
// [Clashing]. home is the column that names each row's home; empty: there is none.
func EachRow(name string, r io.Reader, zone *time.Location, home string, take func(HomeRow)) ([]Fault, error) {
	text, err := decode.Open(r)
	if err != nil {
		return nil, place(name, err)
	}
	return eachRow(name, text, zone, home, take)
}

func eachRow(name string, text *decode.Text, zone *time.Location, home string, take func(HomeRow)) ([]Fault, error) {
	table, err := decode.NewTable(text, maxRow, wanted)
	if err == io.EOF {
		return nil, empty(name)
	}
	if err != nil {
		return nil, place(name, err)
	}
	cols, err := columnsOf(table.Header(), home)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return readTable(name, table, cols, zone, take)
}

func empty(name string) error {
	return fmt.Errorf("%s: the file is empty: want a header with the columns %s", name, strings.Join(columns(), ", "))
}

// wanted counts the columns that a header has.
func wanted(header []string) int { return len(columns()) - len(missing(header)) }

// places are where the columns of a header stand.
type places struct {
	at     []int  // of each column, the optional ones last; -1 for one of these that is not there
	home   string // the column of the homes; empty where nobody asks
	homeAt int
}

// columnsOf finds the columns.
func columnsOf(header []string, home string) (places, error) {
	if lack := missing(header); len(lack) > 0 {
		return places{}, fmt.Errorf("the header lacks %s: want the columns %s", strings.Join(lack, ", "), strings.Join(columns(), ", "))
	}
	all := append(columns(), optional()...)
	cols := places{at: make([]int, len(all)), home: home}
	for i, col := range all {
		cols.at[i] = slices.IndexFunc(header, named(col))
		if again := slices.IndexFunc(header[cols.at[i]+1:], named(col)); again >= 0 {
			return places{}, fmt.Errorf("the header has %s twice: want each column once", col)
		}
	}
	if home != "" {
		if cols.homeAt = slices.IndexFunc(header, named(home)); cols.homeAt < 0 {
			return places{}, fmt.Errorf("the header lacks %s: want the column of the homes", home)
		}
	}
	return cols, nil
}

// readTable hands the rows below a header to take.
func readTable(name string, table interface{ Next() (decode.Record, error) }, cols places, zone *time.Location, take func(HomeRow)) ([]Fault, error) {
	var bad []Fault
	for {
		rec, err := table.Next()
		if err == io.EOF {
			break
		}
		var f *decode.Fault
		if errors.As(err, &f) {
			bad = append(bad, Fault{f.Line, "want " + f.Want})
			continue
		}
		if err != nil {
			return nil, place(name, err)
		}
		cells := make(map[string]string, len(cols.at))
		for i, col := range append(columns(), optional()...) {
			if cols.at[i] >= 0 {
				cells[col] = strings.TrimSpace(rec.Fields[cols.at[i]])
			}
		}
		row, what := parse(cells, zone)
		if what != "" {
			bad = append(bad, Fault{rec.Line, what})
			continue
		}
		row.Line = rec.Line
		of := HomeRow{Row: row}
		if cols.home != "" {
			if of.Home = strings.TrimSpace(rec.Fields[cols.homeAt]); of.Home == "" {
				bad = append(bad, Fault{rec.Line, cols.home + " is empty: want the name of the home"})
				continue
			}
		}
		take(of)
	}
	return bad, nil
}

// place puts the file, and the line where it is known, before an error.
func place(name string, err error) error {
	var f *decode.Fault
	switch {
	case errors.As(err, &f) && f.Line == 0: // the file as a whole
		return fmt.Errorf("%s: want %s", name, f.Want)
	case errors.As(err, &f):
		return fmt.Errorf("%s:%d: want %s", name, f.Line, f.Want)
	}
	return fmt.Errorf("%s: reading chart: %w", name, err)
}

func columns() []string {
	return []string{"resident", "unit", "from", "until", "left_leg", "right_leg", "left_arm", "right_arm",
		"transfer", "staff", "aids", "walk", "by"}
}

// optional are the columns that a chart may have.
func optional() []string { return []string{"name", "room"} }

func missing(header []string) []string {
	return slices.DeleteFunc(columns(), func(col string) bool { return slices.ContainsFunc(header, named(col)) })
}

func named(col string) func(string) bool {
	return func(head string) bool { return strings.EqualFold(strings.TrimSpace(head), strings.TrimSpace(col)) }
}

// parse reads the cells of one row, by column name. The string says what is wrong with the first
// cell that cannot be read.
func parse(cells map[string]string, zone *time.Location) (Row, string) {
	r := Row{Resident: cells["resident"], Unit: cells["unit"], By: cells["by"], Name: cells["name"], Room: cells["room"], Staff: NoStaff}
	quote := quote
	if _, ok := cells["name"]; ok { // a slipped column must not put a name into an error
		quote = func(string) string { return "(not shown)" }
	}
	// unknown says that the column's value is none of the allowed ones, and which of them is nearest.
	unknown := func(col, value string, allowed []string, more ...string) string {
		return fmt.Sprintf("%s %s: want one of %s%s", col, quote(value),
			strings.Join(slices.Concat(allowed, more), ", "), nearest.Hint(value, allowed))
	}
	if r.Resident == "" {
		return r, "resident is empty: want the resident's id"
	}
	var err error
	if r.From, err = when.Parse(cells["from"], zone); err != nil {
		return r, "from: want " + err.Error()
	}
	if cells["until"] != "" {
		if r.Until, err = when.Parse(cells["until"], zone); err != nil {
			return r, "until: want " + err.Error()
		}
		if !r.Until.After(r.From) {
			return r, "until: want a time after from"
		}
	}
	limbs := []struct {
		col string
		to  *Bearing
	}{{"left_leg", &r.LeftLeg}, {"right_leg", &r.RightLeg}, {"left_arm", &r.LeftArm}, {"right_arm", &r.RightArm}}
	for _, l := range limbs {
		b, ok := parseBearing(cells[l.col])
		if !ok {
			return r, unknown(l.col, cells[l.col], []string{"nwb", "ttwb", "pwb", "pwb:50", "wbat", "fwb"}, "an empty cell")
		}
		*l.to = b
	}
	transfers := []string{string(Independent), string(Supervised), string(OnePerson), string(OnePersonPivot),
		string(OnePersonSide), string(TwoPerson), string(TwoPersonPivot), string(TwoPersonSide), string(Board),
		string(SitStandLift), string(TotalLift)}
	transfer := strings.ToLower(cells["transfer"])
	if !slices.Contains(transfers, transfer) {
		return r, unknown("transfer", cells["transfer"], transfers)
	}
	r.Transfer = Transfer(transfer)
	if s := cells["staff"]; s != "" {
		n, err := strconv.Atoi(s)
		if err != nil || n < 0 || n > 9 {
			return r, fmt.Sprintf("staff %s: want a whole number of helpers from 0 to 9, or an empty cell", quote(s))
		}
		r.Staff = n
	}
	for a := range strings.SplitSeq(strings.ToLower(cells["aids"]), ";") {
		a = strings.TrimPrefix(strings.TrimSpace(a), "aid.")
		if a == "" {
			continue
		}
		if !slices.Contains(aids(), a) {
			return r, unknown("aids", a, aids())
		}
		if !slices.Contains(r.Aids, a) {
			r.Aids = append(r.Aids, a)
		}
	}
	walks := []string{string(WalkNo), string(WalkWithAid), string(WalkSupervised), string(WalkIndependent)}
	walk := strings.ToLower(cells["walk"])
	if !slices.Contains(walks, walk) {
		return r, unknown("walk", cells["walk"], walks)
	}
	r.Walk = Walk(walk)
	return r, ""
}

// aids are the ids that the aids cell may hold: the concepts of aids without "aid.", but for "none",
// which an empty cell says.
func aids() []string {
	return []string{"cane", "cane-quad", "crutch", "crutch-axillary", "crutch-forearm", "crutch-platform",
		"walker", "walker-standard", "walker-2w", "walker-4w", "walker-platform", "wheelchair",
		"wheelchair-power", "belt", "board", "disc", "slide-sheet", "sling", "sit-stand-lift", "total-lift", "lift"}
}

func parseBearing(cell string) (Bearing, bool) {
	b := Bearing{Raw: cell}
	status, percent, given := strings.Cut(strings.ToLower(cell), ":")
	switch status {
	case "", "fwb":
		b.Status = Full
	case "wbat":
		b.Status = Tolerated
	case "pwb":
		b.Status = Partial
	case "ttwb":
		b.Status = ToeTouch
	case "nwb":
		b.Status = None
	default:
		return b, false
	}
	if given {
		f, err := strconv.ParseFloat(strings.TrimSuffix(percent, "%"), 64)
		if b.Status != Partial || err != nil || !(f > 0 && f <= 100) {
			return b, false
		}
		b.Percent = f
	}
	return b, true
}

// quote quotes a cell for an error, cut short where a slipped column put long text there.
func quote(cell string) string {
	const most = 24
	if r := []rune(cell); len(r) > most {
		cell = string(r[:most]) + "…"
	}
	return strconv.Quote(cell)
}
