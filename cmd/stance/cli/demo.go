package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"example.com/stance/lint/plural"
	"example.com/stance/testdata"
)

func (a *app) demoCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "demo DIR",
		Short: "Write the demo home: notes, chart, policy",
		Long: `demo writes the notes, the chart and the policy of an invented home into DIR, for trying
stance out and for teaching. It makes DIR where there is none, and overwrites nothing.

` + doneStatuses,
		Example: "  stance demo demo-home",
		Args:    arguments(1, 1, "one folder to write to"),
		RunE:    func(_ *cobra.Command, args []string) error { return a.demo(args[0]) },
	}
}

func (a *app) demo(dir string) error {
	home, err := fs.Sub(testdata.Demo, "demo")
	if err != nil {
		return err
	}
	var files []string
	if err := fs.WalkDir(home, ".", func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			files = append(files, path)
		}
		return err
	}); err != nil {
		return err
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return usagef("%s: cannot make the folder: %w", dir, cause(err))
	}
	// Looked at before anything is written, so that a refusal leaves the folder as it was.
	for _, f := range files {
		path := filepath.Join(dir, filepath.FromSlash(f))
		if _, err := os.Lstat(path); !errors.Is(err, fs.ErrNotExist) {
			return usagef("%s: is there already, want a folder without it", path)
		}
	}
	for _, f := range files {
		b, err := fs.ReadFile(home, f)
		if err != nil {
			return err
		}
		path := filepath.Join(dir, filepath.FromSlash(f))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return usagef("%s: cannot make the folder: %w", filepath.Dir(path), cause(err))
		}
		if err := create(path, b); err != nil {
			return usagef("%s: cannot write: %w", path, cause(err))
		}
	}
	_, err = fmt.Fprintf(a.out, "Wrote %s to %s. Now try:\n  stance check --chart %s %s\n", plural.Of(len(files), "file"), dir,
		filepath.Join(dir, "chart.csv"), filepath.Join(dir, "notes.jsonl"))
	return err
}

// create writes a file that must not be there yet.
func create(path string, b []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	_, err = f.Write(b)
	return errors.Join(err, f.Close())
}

// cause is what lies under an error of the file system, without the path that the message names already.
func cause(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}
