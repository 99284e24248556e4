package index

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

const (
	settingsName    = "settings"
	newSettingsName = "settings.new" // what is about to take its place
)

// settingsHead stands before the sum of the settings, in their first line. Those of an older stance have none.
const settingsHead = "# stance settings "

// Settings gives what Writer.SetSettings last put down in a folder; nil where nothing was. It can be asked
// for before there is a Reader to open the index with, since it may say what that has to know.
func Settings(dir string) ([]byte, error) {
	name := filepath.Join(dir, settingsName)
	b, err := os.ReadFile(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	first, body, _ := bytes.Cut(b, []byte("\n"))
	sum, ours := bytes.CutPrefix(first, []byte(settingsHead))
	switch {
	case err != nil || !ours:
		return b, err
	case string(sum) != sumLine(body):
		return nil, fmt.Errorf("%s: damaged: delete the file, and name the policy with --policy when notes are kept next", name)
	}
	return body, nil
}

// SetSettings puts down what a program has to know of how the notes were kept, in a form of its own.
func (w *Writer) SetSettings(settings []byte) error {
	if have, err := Settings(w.dir); err == nil && have != nil && bytes.Equal(have, settings) {
		return nil
	}
	settings = append([]byte(settingsHead+sumLine(settings)+"\n"), settings...)
	return replaceFile(w.dir, settingsName, newSettingsName, settings)
}
