package index

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
)

const (
	settingsName    = "settings"
	newSettingsName = "settings.new" // what is about to take its place
)

// Settings gives what Writer.SetSettings last put down in a folder; nil where nothing was. It can be asked
// for before there is a Reader to open the index with, since it may say what that has to know.
func Settings(dir string) ([]byte, error) {
	b, err := os.ReadFile(filepath.Join(dir, settingsName))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	return b, err
}

// SetSettings puts down what a program has to know of how the notes were kept, in a form of its own.
func (w *Writer) SetSettings(settings []byte) error {
	if have, err := Settings(w.dir); err == nil && have != nil && bytes.Equal(have, settings) {
		return nil
	}
	return replaceFile(w.dir, settingsName, newSettingsName, settings)
}
