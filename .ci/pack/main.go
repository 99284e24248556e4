// Pack puts a program of stance into what people install: an archive for each platform and, for Linux, a Debian package
// and an OCI image from scratch. It writes these formats itself, of which it needs little; the same program gives the
// same bytes.
//
//	go run ./.ci/pack BINARY PAPERS OUT
//
// PAPERS is a folder with what goes with the program: LICENSE, README.md, licences.txt, and what cmd/stance/manual
// writes. The files in OUT are called as the binary is, with endings of their own. All times are SOURCE_DATE_EPOCH, or
// 1 January 1980, the first that a zip archive knows.
package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"debug/buildinfo"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"
)

func main() {
	if len(os.Args) != 4 {
		fmt.Fprintln(os.Stderr, "usage: go run ./.ci/pack BINARY PAPERS OUT")
		os.Exit(2)
	}
	if err := run(os.Args[1], os.Args[2], os.Args[3], os.Getenv("SOURCE_DATE_EPOCH")); err != nil {
		fmt.Fprintf(os.Stderr, "pack: %v\n", err)
		os.Exit(1)
	}
}

// A release is one program and what goes with it.
type release struct {
	name     string // of its files, without an ending
	version  string // as the binary has it, "v1.2.3"
	os, arch string
	at       time.Time
	program  []byte
	papers   map[string][]byte // by name
	pages    map[string][]byte // man pages, by name
}

func run(binary, papers, out, epoch string) error {
	r, err := read(binary, papers, epoch)
	if err != nil {
		return err
	}
	type form struct {
		ending string
		write  func(*release) ([]byte, error)
	}
	forms := []form{{".tar.gz", tarball}}
	switch r.os {
	case "windows":
		forms = []form{{".zip", zipped}}
	case "linux":
		forms = append(forms, form{".deb", debian}, form{".oci.tar", image})
	}
	for _, f := range forms {
		b, err := f.write(r)
		if err != nil {
			return fmt.Errorf("%s%s: %w", r.name, f.ending, err)
		}
		if err := os.WriteFile(filepath.Join(out, r.name+f.ending), b, 0o644); err != nil {
			return err
		}
	}
	return nil
}

func read(binary, papers, epoch string) (*release, error) {
	r := &release{name: strings.TrimSuffix(filepath.Base(binary), ".exe"), at: time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC), papers: map[string][]byte{}, pages: map[string][]byte{}}
	if epoch != "" {
		seconds, err := strconv.ParseInt(epoch, 10, 64)
		if err != nil {
			return nil, fmt.Errorf("SOURCE_DATE_EPOCH %q: want seconds since 1970", epoch)
		}
		if at := time.Unix(seconds, 0).UTC(); at.After(r.at) {
			r.at = at
		}
	}
	info, err := buildinfo.ReadFile(binary)
	if err != nil {
		return nil, err
	}
	r.version = info.Main.Version
	for _, s := range info.Settings {
		switch s.Key {
		case "GOOS":
			r.os = s.Value
		case "GOARCH":
			r.arch = s.Value
		}
	}
	if r.program, err = os.ReadFile(binary); err != nil {
		return nil, err
	}
	for _, name := range []string{"LICENSE", "README.md", "licences.txt", "stance.bash", "_stance", "stance.fish", "stance.ps1"} {
		if r.papers[name], err = os.ReadFile(filepath.Join(papers, name)); err != nil {
			return nil, err
		}
	}
	pages, err := filepath.Glob(filepath.Join(papers, "man", "*.1"))
	if err != nil {
		return nil, err
	}
	if len(pages) == 0 {
		return nil, fmt.Errorf("%s has no man pages", papers)
	}
	for _, page := range pages {
		if r.pages[filepath.Base(page)], err = os.ReadFile(page); err != nil {
			return nil, err
		}
	}
	return r, nil
}

// A file is one of an archive. A folder's name ends in a slash.
type file struct {
	name string
	mode int64
	id   int // of user and group
	data []byte
}

// byName are the files in order, and before each the folders that it lies in.
func byName(files []file) []file {
	var all []file
	have := map[string]bool{}
	for _, f := range files {
		have[f.name] = true
	}
	for _, f := range files {
		for i, c := range f.name {
			if folder := f.name[:i+1]; c == '/' && !have[folder] {
				have[folder] = true
				all = append(all, file{name: folder, mode: 0o755})
			}
		}
		all = append(all, f)
	}
	slices.SortFunc(all, func(a, b file) int { return strings.Compare(a.name, b.name) })
	return all
}

// pack writes a tar archive, the names of files after prefix.
func (r *release) pack(prefix string, files []file) ([]byte, error) {
	var b bytes.Buffer
	w := tar.NewWriter(&b)
	for _, f := range files {
		h := &tar.Header{Typeflag: tar.TypeReg, Name: prefix + f.name, Mode: f.mode, Size: int64(len(f.data)), ModTime: r.at, Uid: f.id, Gid: f.id, Format: tar.FormatUSTAR}
		if strings.HasSuffix(h.Name, "/") {
			h.Typeflag = tar.TypeDir
		}
		if f.id == 0 {
			h.Uname, h.Gname = "root", "root"
		}
		if err := w.WriteHeader(h); err != nil {
			return nil, err
		}
		if _, err := w.Write(f.data); err != nil {
			return nil, err
		}
	}
	err := w.Close()
	return b.Bytes(), err
}

func compressed(b []byte) ([]byte, error) {
	var out bytes.Buffer
	w, err := gzip.NewWriterLevel(&out, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	if _, err := w.Write(b); err != nil {
		return nil, err
	}
	err = w.Close()
	return out.Bytes(), err
}

// contents are the files of an archive, in a folder of its name.
func (r *release) contents() []file {
	program := "stance"
	if r.os == "windows" {
		program += ".exe"
	}
	files := []file{{name: r.name + "/" + program, mode: 0o755, data: r.program}}
	for name, data := range r.papers {
		at := name
		if strings.Contains(name, "stance") {
			at = "completion/" + name
		}
		files = append(files, file{name: r.name + "/" + at, mode: 0o644, data: data})
	}
	for name, data := range r.pages {
		files = append(files, file{name: r.name + "/man/" + name, mode: 0o644, data: data})
	}
	return byName(files)
}

func tarball(r *release) ([]byte, error) {
	b, err := r.pack("", r.contents())
	if err != nil {
		return nil, err
	}
	return compressed(b)
}

func zipped(r *release) ([]byte, error) {
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, f := range r.contents() {
		h := &zip.FileHeader{Name: f.name, Method: zip.Deflate, Modified: r.at}
		h.SetMode(os.FileMode(f.mode))
		if strings.HasSuffix(f.name, "/") {
			h.Method = zip.Store
			h.SetMode(os.ModeDir | os.FileMode(f.mode))
		}
		part, err := w.CreateHeader(h)
		if err != nil {
			return nil, err
		}
		if _, err := io.Copy(part, bytes.NewReader(f.data)); err != nil {
			return nil, err
		}
	}
	err := w.Close()
	return b.Bytes(), err
}
