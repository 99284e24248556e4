package fleet

import (
	"bytes"
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"path"
	"slices"
	"strings"

	"github.com/apache/beam/sdks/v2/go/pkg/beam/io/filesystem"
)

// The files of an output. Those with a number are spread over shards; one that would be empty is not there.
const (
	findingsName   = "findings"
	overlookedName = "not-understood"
	deadName       = "dead-letter"
	flawsName      = "flaws"
	sumsName       = "homes.jsonl"

	beganName = "began.json" // there while a run is under way, or after it was killed
	doneName  = "done.json"  // written last: where it is, all is
	partsName = ".parts-"    // before the run: the folder of files that are not yet in their place
)

func shardName(name string, shard int) string { return fmt.Sprintf("%s-%05d.jsonl", name, shard) }

// A Written is one file of an output.
type Written struct {
	Name  string `json:"name"`
	Bytes int    `json:"bytes"`
	Lines int    `json:"lines"`

	Part string `json:"part,omitempty"` // where it lies until all are there
}

// A Manifest is done.json: what a whole output consists of.
type Manifest struct {
	Run     string    `json:"run"`
	Version string    `json:"version"`
	Files   []Written `json:"files"`
}

// Lines counts the lines of the files of one kind.
func (m *Manifest) Lines(kind string) int {
	n := 0
	for _, f := range m.Files {
		if strings.HasPrefix(f.Name, kind+"-") && strings.HasSuffix(f.Name, ".jsonl") {
			n += f.Lines
		}
	}
	return n
}

// Dead is how many records could not be read.
func (m *Manifest) Dead() int { return m.Lines(deadName) }

// writeFn writes one file of the output, under a name that no other attempt has: of a bundle that is tried again, only
// the attempt counts that hands its name on.
type writeFn struct{ Job Job }

func (f *writeFn) ProcessElement(ctx context.Context, name string, in func(*[]byte) bool, written func(string, string)) error {
	var items []item
	for b := []byte(nil); in(&b); {
		it, err := unpackItem(b)
		if err != nil {
			return err
		}
		items = append(items, it)
	}
	slices.SortFunc(items, func(a, b item) int {
		if c := strings.Compare(a.sort, b.sort); c != 0 {
			return c
		}
		return bytes.Compare(a.bytes, b.bytes)
	})
	var out bytes.Buffer
	for _, it := range items {
		out.Write(it.bytes)
	}
	w := Written{Name: name, Bytes: out.Len(), Lines: bytes.Count(out.Bytes(), []byte("\n"))}
	w.Part = join(f.Job.Out, partsName+f.Job.Run, name+"."+rand.Text())
	if err := write(ctx, w.Part, out.Bytes()); err != nil {
		return err
	}
	b, err := json.Marshal(w)
	if err != nil {
		return err
	}
	written("", string(b))
	return nil
}

// commitFn puts the files in their places once all are written, and done.json last. It may be killed and tried again at
// any moment.
type commitFn struct{ Job Job }

func (f *commitFn) ProcessElement(ctx context.Context, _ string, in func(*string) bool) error {
	m := Manifest{Run: f.Job.Run, Version: f.Job.Version}
	for s := ""; in(&s); {
		var w Written
		if err := json.Unmarshal([]byte(s), &w); err != nil {
			return errWire
		}
		m.Files = append(m.Files, w)
	}
	slices.SortFunc(m.Files, func(a, b Written) int { return strings.Compare(a.Name, b.Name) })
	if done, err := Done(ctx, f.Job.Out); err == nil && done.Run == f.Job.Run {
		return nil
	}
	var began Manifest
	if err := readJSON(ctx, join(f.Job.Out, beganName), &began); err != nil {
		return err
	}
	if began.Run != f.Job.Run {
		return fmt.Errorf("%s: another run writes there since this one began", f.Job.Out)
	}
	fs, err := filesystem.New(ctx, f.Job.Out)
	if err != nil {
		return err
	}
	defer fs.Close()
	for i := range m.Files {
		w := &m.Files[i]
		to := join(f.Job.Out, w.Name)
		if err := filesystem.Rename(ctx, fs, w.Part, to); err != nil {
			// An attempt before this one may have done it.
			if size, sizeErr := fs.Size(ctx, to); sizeErr != nil || size != int64(w.Bytes) {
				return err
			}
		}
		w.Part = ""
	}
	b, err := json.Marshal(m)
	if err != nil {
		return err
	}
	part := join(f.Job.Out, partsName+f.Job.Run, doneName)
	if err := write(ctx, part, append(b, '\n')); err != nil {
		return err
	}
	return filesystem.Rename(ctx, fs, part, join(f.Job.Out, doneName))
}

// ErrThere says that the folder of the output has a whole output in it, or other files.
var ErrThere = errors.New("want a new folder, or one where an earlier run was stopped")

// Begin makes the folder of the output ready, which may have what a killed run has left there: that is taken away.
func Begin(ctx context.Context, j *Job) error {
	fs, err := filesystem.New(ctx, j.Out)
	if err != nil {
		return err
	}
	defer fs.Close()
	there, err := fs.List(ctx, join(j.Out, "*"))
	if err != nil {
		return err
	}
	began := slices.ContainsFunc(there, func(name string) bool { return path.Base(slashed(name)) == beganName })
	if _, err := Done(ctx, j.Out); err == nil {
		if began { // it was stopped between the last file and its end
			if err := End(ctx, j.Out); err != nil {
				return err
			}
		}
		return fmt.Errorf("%s: has a whole output: %w", j.Out, ErrThere)
	}
	if len(there) > 0 && !began {
		return fmt.Errorf("%s: has other files: %w", j.Out, ErrThere)
	}
	if err := sweep(ctx, fs, j.Out, there); err != nil {
		return err
	}
	b, err := json.Marshal(Manifest{Run: j.Run, Version: j.Version})
	if err != nil {
		return err
	}
	return write(ctx, join(j.Out, beganName), append(b, '\n'))
}

// sweep takes away what a run that was killed has left.
func sweep(ctx context.Context, fs filesystem.Interface, out string, there []string) error {
	rm, ok := fs.(filesystem.Remover)
	if !ok {
		if len(there) > 0 {
			return fmt.Errorf("%s: has files of a run that was stopped, which this file system cannot take away: want a new folder", out)
		}
		return nil
	}
	parts, err := fs.List(ctx, join(out, partsName+"*", "*"))
	if err != nil {
		return err
	}
	for _, name := range append(parts, there...) {
		base := path.Base(slashed(name))
		if strings.HasPrefix(base, partsName) || base == beganName {
			continue // a folder, if at all; and the mark of a run goes when another takes its place
		}
		if err := rm.Remove(ctx, name); err != nil {
			return err
		}
	}
	return dropParts(ctx, fs, out)
}

// dropParts takes away the folders of parts, on file systems that have any.
func dropParts(ctx context.Context, fs filesystem.Interface, out string) error {
	rm, ok := fs.(filesystem.Remover)
	if !ok {
		return nil
	}
	folders, err := fs.List(ctx, join(out, partsName+"*"))
	if err != nil {
		return err
	}
	for _, f := range folders {
		if err := rm.Remove(ctx, f); err != nil {
			return err
		}
	}
	return nil
}

// End takes away what a run needed until it was done.
func End(ctx context.Context, out string) error {
	fs, err := filesystem.New(ctx, out)
	if err != nil {
		return err
	}
	defer fs.Close()
	rm, ok := fs.(filesystem.Remover)
	if !ok {
		return nil
	}
	// Attempts that did not count may have left parts.
	parts, err := fs.List(ctx, join(out, partsName+"*", "*"))
	if err != nil {
		return err
	}
	for _, name := range append(parts, join(out, beganName)) {
		if err := rm.Remove(ctx, name); err != nil {
			return err
		}
	}
	return dropParts(ctx, fs, out)
}

// Done reads what a whole output consists of; an error where there is none.
func Done(ctx context.Context, out string) (*Manifest, error) {
	var m Manifest
	if err := readJSON(ctx, join(out, doneName), &m); err != nil {
		return nil, err
	}
	return &m, nil
}

// Sums reads homes.jsonl of a whole output, and adds it up.
func Sums(ctx context.Context, out string, m *Manifest) (homes int, all Sum, err error) {
	if !slices.ContainsFunc(m.Files, func(w Written) bool { return w.Name == sumsName }) {
		return 0, Sum{}, nil
	}
	b, err := read(ctx, join(out, sumsName))
	if err != nil {
		return 0, Sum{}, err
	}
	for line := range bytes.Lines(b) {
		var h HomeSum
		if err := json.Unmarshal(line, &h); err != nil {
			return 0, Sum{}, err
		}
		homes, all = homes+1, all.plus(h.Sum)
	}
	return homes, all, nil
}

func readJSON(ctx context.Context, name string, to any) error {
	b, err := read(ctx, name)
	if err != nil {
		return err
	}
	return json.Unmarshal(b, to)
}

func read(ctx context.Context, name string) ([]byte, error) {
	fs, err := filesystem.New(ctx, name)
	if err != nil {
		return nil, err
	}
	defer fs.Close()
	return filesystem.Read(ctx, fs, name)
}

func write(ctx context.Context, name string, b []byte) error {
	fs, err := filesystem.New(ctx, name)
	if err != nil {
		return err
	}
	defer fs.Close()
	return filesystem.Write(ctx, fs, name, b)
}

// join joins names as all of Beam's file systems take them, and keeps the two slashes of a scheme.
func join(parts ...string) string {
	parts[0] = strings.TrimRight(parts[0], "/")
	return strings.Join(parts, "/")
}

func slashed(name string) string { return strings.ReplaceAll(name, `\`, "/") }
