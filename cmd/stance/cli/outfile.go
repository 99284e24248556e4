package cli

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"
)

// byName takes the format that the name of a file ends in, unless --format was given.
func (f *choice) byName(c *cobra.Command, file string) {
	if file == "" || c.Flags().Changed("format") {
		return
	}
	ending := strings.TrimPrefix(strings.ToLower(filepath.Ext(file)), ".")
	switch ending {
	case "htm":
		ending = "html"
	case "markdown":
		ending = "md"
	case "xml":
		ending = "junit"
	}
	if slices.Contains(f.allowed, ending) {
		f.value = ending
	}
}

// absent refuses an output file that is there already, before any work is done.
func absent(flag, name string) error {
	if name == "" {
		return nil
	}
	switch _, err := os.Lstat(name); {
	case err == nil:
		return usagef("%s %s: is there already, want a new file", flag, name)
	case !errors.Is(err, fs.ErrNotExist):
		return usagef("%s %s: %w", flag, name, cause(err))
	}
	if info, err := os.Stat(filepath.Dir(name)); err != nil || !info.IsDir() {
		return usagef("%s %s: there is no folder for it", flag, name)
	}
	return nil
}

// deliver writes a report in that format to the new file that --out names, or to standard output where it
// names none.
func (a *app) deliver(format *choice, name string, b []byte) error {
	if name == "" {
		if format.value == "xlsx" && a.tty != nil {
			return usagef("--format xlsx: a workbook is not for a terminal, want --out FILE")
		}
		_, err := a.report(format).Write(b)
		return err
	}
	return writeNew("--out", name, b)
}

// writeNew writes the file that a flag names, which must not be there yet.
func writeNew(flag, name string, b []byte) error {
	switch err := writeWhole(name, b); {
	case errors.Is(err, fs.ErrExist):
		return usagef("%s %s: is there already, want a new file", flag, name)
	case err != nil:
		return usagef("%s %s: cannot write: %w", flag, name, cause(err))
	}
	return nil
}

// writeWhole writes a file that must not be there yet, so that it is there whole or not at all.
func writeWhole(path string, b []byte) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+"-*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.Remove(f.Name()))
		}
	}()
	_, err = io.Copy(f, bytes.NewReader(b))
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	if _, err := os.Lstat(path); !errors.Is(err, fs.ErrNotExist) {
		return errors.Join(err, fs.ErrExist)
	}
	return os.Rename(f.Name(), path)
}
