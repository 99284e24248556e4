// Sbom writes what a binary of stance is made of, as CycloneDX 1.6 in JSON, and with -texts the licences
// of all of it. It fails where a module has no line in the list of licences or another text than the one
// that was looked at when the line was written.
//
//	go run ./.ci/sbom [-texts] [-in FOLDER] BINARY
package main

import (
	"bytes"
	"crypto/sha256"
	"debug/buildinfo"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strings"
)

const (
	ownPath   = "example.com/stance"
	listName  = ".ci/licences"
	wordsName = "lexicon/internal/spell/words-LICENCE.txt" // of the one file in the binary that is no code of a module
)

func main() {
	texts := flag.Bool("texts", false, "write the texts of the licences")
	in := flag.String("in", ".", "`folder` of the module that the binary is of")
	flag.Parse()
	if flag.NArg() != 1 {
		fmt.Fprintln(os.Stderr, "usage: go run ./.ci/sbom [-texts] [-in FOLDER] BINARY")
		os.Exit(2)
	}
	if err := run(os.Stdout, flag.Arg(0), *in, *texts); err != nil {
		fmt.Fprintf(os.Stderr, "sbom: %v\n", err)
		os.Exit(1)
	}
}

func run(w io.Writer, binary, in string, texts bool) error {
	info, err := buildinfo.ReadFile(binary)
	if err != nil {
		return err
	}
	list, err := os.ReadFile(listName)
	if err != nil {
		return err
	}
	all, err := modules(info, in, readList(string(list)))
	if err != nil {
		return err
	}
	if texts {
		return writeTexts(w, all)
	}
	enc := json.NewEncoder(w)
	enc.SetIndent("", " ")
	return enc.Encode(bomOf(info, all))
}

// A listed is one line of the list: which licence a module has, and the hash of the text that says so.
type listed struct{ licence, hash string }

// readList reads lines of module, SPDX identifiers joined by +, and SHA-256 of the text.
func readList(text string) map[string]listed {
	all := map[string]listed{}
	for line := range strings.Lines(text) {
		if f := strings.Fields(line); len(f) == 3 && f[0] != "#" {
			all[f[0]] = listed{f[1], f[2]}
		}
	}
	return all
}

// A module is a part of the binary.
type module struct {
	path, version, sum string
	licence            string
	text               []byte
}

// modules are the parts of the binary, the standard library among them, each with its licence. All that
// is wrong with the list is told at once. What a module of a folder in this tree takes from the tree is no part of its own.
func modules(info *debug.BuildInfo, in string, list map[string]listed) ([]module, error) {
	goroot, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return nil, fmt.Errorf("asking for the standard library: %w", err)
	}
	all := []module{{path: "std", version: strings.TrimPrefix(info.GoVersion, "go")}}
	dirs := map[string]string{"std": strings.TrimSpace(string(goroot))}
	for _, d := range info.Deps {
		if d.Path == ownPath && d.Replace != nil && d.Replace.Path == "../.." {
			continue
		}
		if d.Replace != nil {
			return nil, fmt.Errorf("%s is replaced by %s, want it as it was published", d.Path, d.Replace.Path)
		}
		all = append(all, module{path: d.Path, version: d.Version, sum: d.Sum})
		asked := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", d.Path)
		asked.Dir = in
		dir, err := asked.Output()
		if err != nil {
			return nil, fmt.Errorf("asking for %s: %w", d.Path, err)
		}
		dirs[d.Path] = strings.TrimSpace(string(dir))
	}
	var wrong []error
	for i := range all {
		m := &all[i]
		if m.text, err = licenceText(dirs[m.path]); err != nil {
			wrong = append(wrong, fmt.Errorf("%s: %w", m.path, err))
			continue
		}
		sum := sha256.Sum256(m.text)
		hash, is := hex.EncodeToString(sum[:]), list[m.path]
		if m.licence = is.licence; is.hash == hash && !accepted(is.licence) {
			wrong = append(wrong, fmt.Errorf("%s: its licence %s is none of those that %s accepts", m.path, is.licence, listName))
		}
		if is.hash != hash {
			wrong = append(wrong, fmt.Errorf("%s %s: its licence is not the one listed; read it in %s, and where it may be used write to %s: %s LICENCE %s",
				m.path, m.version, dirs[m.path], listName, m.path, hash))
		}
	}
	return all, errors.Join(wrong...)
}

// accepted reports whether all licences, joined by +, let a program under Apache-2.0 be passed on.
func accepted(licences string) bool {
	for id := range strings.SplitSeq(licences, "+") {
		if !slices.Contains([]string{"Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "ISC", "MIT"}, id) {
			return false
		}
	}
	return true
}

// licenceText is what the files of a folder say about its licence, one after the other.
func licenceText(dir string) ([]byte, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	var text bytes.Buffer
	for _, e := range entries { // by name
		name := strings.ToUpper(strings.TrimSuffix(e.Name(), filepath.Ext(e.Name())))
		if e.IsDir() || !slices.Contains([]string{"LICENSE", "LICENCE", "COPYING", "NOTICE"}, name) {
			continue
		}
		b, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			return nil, err
		}
		text.Write(b)
	}
	if text.Len() == 0 {
		return nil, errors.New("there is no file of a licence in it")
	}
	return text.Bytes(), nil
}

func writeTexts(w io.Writer, all []module) error {
	for _, m := range all {
		if _, err := fmt.Fprintf(w, "==== %s %s (%s)\n\n%s\n", m.path, m.version, strings.ReplaceAll(m.licence, "+", " and "), m.text); err != nil {
			return err
		}
	}
	words, err := os.ReadFile(wordsName)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(w, "==== the list of English words\n\n%s\n", words)
	return err
}

// The parts of CycloneDX 1.6 that are written. No time and no serial number are among them, so that the
// same binary has the same bill.
type bom struct {
	Format       string       `json:"bomFormat"`
	Spec         string       `json:"specVersion"`
	Version      int          `json:"version"`
	Metadata     metadata     `json:"metadata"`
	Components   []component  `json:"components"`
	Dependencies []dependency `json:"dependencies"`
}

type metadata struct {
	Component component `json:"component"`
}

type component struct {
	Ref      string    `json:"bom-ref"`
	Type     string    `json:"type"`
	Name     string    `json:"name"`
	Version  string    `json:"version"`
	PURL     string    `json:"purl"`
	Hashes   []hash    `json:"hashes,omitempty"`
	Licences []licence `json:"licenses"`
}

type hash struct {
	Alg     string `json:"alg"`
	Content string `json:"content"`
}

type licence struct {
	Licence struct {
		ID string `json:"id"`
	} `json:"license"`
}

type dependency struct {
	Ref       string   `json:"ref"`
	DependsOn []string `json:"dependsOn"`
}

func bomOf(info *debug.BuildInfo, all []module) bom {
	own := componentOf(module{path: info.Main.Path, version: info.Main.Version, licence: "Apache-2.0"})
	own.Type = "application"
	b := bom{Format: "CycloneDX", Spec: "1.6", Version: 1, Metadata: metadata{own}, Dependencies: []dependency{{Ref: own.Ref}}}
	for _, m := range all {
		c := componentOf(m)
		b.Components = append(b.Components, c)
		b.Dependencies[0].DependsOn = append(b.Dependencies[0].DependsOn, c.Ref)
	}
	return b
}

func componentOf(m module) component {
	purl := "pkg:golang/" + m.path + "@" + m.version
	c := component{Ref: purl, Type: "library", Name: m.path, Version: m.version, PURL: purl}
	// The checksum of a module in go.sum: "h1:" and a SHA-256 in base64.
	if sum, ok := strings.CutPrefix(m.sum, "h1:"); ok {
		if b, err := base64.StdEncoding.DecodeString(sum); err == nil {
			c.Hashes = []hash{{"SHA-256", hex.EncodeToString(b)}}
		}
	}
	for id := range strings.SplitSeq(m.licence, "+") {
		var l licence
		l.Licence.ID = id
		c.Licences = append(c.Licences, l)
	}
	return c
}
