package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"encoding/json"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// invented is a release of this test's own binary.
func invented(t *testing.T, system string) *release {
	t.Helper()
	papers := t.TempDir()
	if err := os.Mkdir(filepath.Join(papers, "man"), 0o755); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"LICENSE", "README.md", "licences.txt", "stance.bash", "_stance", "stance.fish", "stance.ps1", "man/stance.1", "man/stance-check.1"} {
		if err := os.WriteFile(filepath.Join(papers, name), []byte(name+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	r, err := read(self, papers, "1795000000")
	if err != nil {
		t.Fatal(err)
	}
	if r.os == "" || r.arch == "" {
		t.Fatalf("platform %q %q", r.os, r.arch)
	}
	r.name, r.version, r.os, r.arch, r.program = "stance-"+system+"-amd64", "v1.2.4-0.20261128000000-0123456789ab+dirty", system, "amd64", []byte("the program")
	return r
}

// untar is the files of an archive by name, with their modes.
func untar(t *testing.T, b []byte) (data map[string]string, modes map[string]int64) {
	t.Helper()
	data, modes = map[string]string{}, map[string]int64{}
	in := tar.NewReader(bytes.NewReader(b))
	for {
		h, err := in.Next()
		if err == io.EOF {
			return data, modes
		}
		if err != nil {
			t.Fatal(err)
		}
		b, err := io.ReadAll(in)
		if err != nil {
			t.Fatal(err)
		}
		if _, twice := data[h.Name]; twice || !h.ModTime.Equal(time.Unix(1795000000, 0)) {
			t.Errorf("%s stands twice, or has the time %s", h.Name, h.ModTime)
		}
		data[h.Name], modes[h.Name] = string(b), h.Mode
	}
}

func unzip(t *testing.T, b []byte) []byte {
	t.Helper()
	in, err := gzip.NewReader(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	out, err := io.ReadAll(in)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestArchives(t *testing.T) {
	b, err := tarball(invented(t, "darwin"))
	if err != nil {
		t.Fatal(err)
	}
	data, modes := untar(t, unzip(t, b))
	const top = "stance-darwin-amd64/"
	for name, want := range map[string]string{"stance": "the program", "LICENSE": "LICENSE\n", "completion/_stance": "_stance\n", "man/stance-check.1": "man/stance-check.1\n"} {
		if data[top+name] != want {
			t.Errorf("%s holds %q, want %q", name, data[top+name], want)
		}
	}
	if modes[top+"stance"] != 0o755 || modes[top+"README.md"] != 0o644 || modes[top] != 0o755 {
		t.Errorf("modes %v", modes)
	}
	if b, err = zipped(invented(t, "windows")); err != nil {
		t.Fatal(err)
	}
	z, err := zip.NewReader(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		t.Fatal(err)
	}
	in, err := z.Open("stance-windows-amd64/stance.exe")
	if err != nil {
		t.Fatal(err)
	}
	if got, err := io.ReadAll(in); err != nil || string(got) != "the program" {
		t.Errorf("%q, %v", got, err)
	}
}

// The package is what dpkg-deb takes for one.
func TestDebian(t *testing.T) {
	b, err := debian(invented(t, "linux"))
	if err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "stance.deb")
	if err := os.WriteFile(name, b, 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := exec.LookPath("dpkg-deb"); err != nil {
		t.Skip("no dpkg-deb")
	}
	said, err := exec.CommandContext(t.Context(), "dpkg-deb", "--field", name, "Version", "Architecture", "Installed-Size").CombinedOutput()
	if want := "Version: 1.2.4~0.20261128000000.0123456789ab+dirty\nArchitecture: amd64\nInstalled-Size: 1\n"; err != nil || string(said) != want {
		t.Errorf("%v: %q, want %q", err, said, want)
	}
	dir := filepath.Join(t.TempDir(), "root")
	if said, err := exec.CommandContext(t.Context(), "dpkg-deb", "--raw-extract", name, dir).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, said)
	}
	for file, want := range map[string]string{"usr/bin/stance": "the program", "usr/share/bash-completion/completions/stance": "stance.bash\n",
		"usr/share/zsh/vendor-completions/_stance": "_stance\n", "usr/share/fish/vendor_completions.d/stance.fish": "stance.fish\n"} {
		if got, err := os.ReadFile(filepath.Join(dir, file)); err != nil || string(got) != want {
			t.Errorf("%s: %q, %v", file, got, err)
		}
	}
	page, err := os.ReadFile(filepath.Join(dir, "usr/share/man/man1/stance-check.1.gz"))
	if err != nil || string(unzip(t, page)) != "man/stance-check.1\n" {
		t.Errorf("man page: %v", err)
	}
	sums := exec.CommandContext(t.Context(), "md5sum", "--check", "--quiet", "DEBIAN/md5sums")
	sums.Dir = dir
	if said, err := sums.CombinedOutput(); err != nil {
		t.Errorf("md5sums: %v: %s", err, said)
	}
}

func TestDebianVersion(t *testing.T) {
	for in, want := range map[string]string{"v1.2.3": "1.2.3", "v0.0.0-20261128222930-c57d9130abcd": "0.0.0~20261128222930.c57d9130abcd", "(devel)": "0~devel", "": "0~devel", "v1.0.0+dirty": "1.0.0+dirty"} {
		if got := debianVersion(in); got != want {
			t.Errorf("debianVersion(%q) = %q, want %q", in, got, want)
		}
	}
}

// All that the index of an image leads to is there, and is what its digest says; both layouts name the same parts.
func TestImage(t *testing.T) {
	b, err := image(invented(t, "linux"))
	if err != nil {
		t.Fatal(err)
	}
	data, _ := untar(t, b)
	part := func(d descriptor) []byte {
		b := []byte(data[blob(d)])
		if digest(b) != d.Digest || len(b) != d.Size {
			t.Fatalf("%s %s: digest %s, %d bytes", d.MediaType, d.Digest, digest(b), len(b))
		}
		return b
	}
	from := func(b []byte, into any) {
		d := json.NewDecoder(bytes.NewReader(b))
		d.DisallowUnknownFields()
		if err := d.Decode(into); err != nil {
			t.Fatal(err)
		}
	}
	var i index
	from([]byte(data["index.json"]), &i)
	var m manifest
	from(part(i.Manifests[0]), &m)
	var c config
	from(part(m.Config), &c)
	layer := unzip(t, part(m.Layers[0]))
	if got := []string{digest(layer)}; !slices.Equal(got, c.RootFS.DiffIDs) {
		t.Errorf("layer %v, want %v", got, c.RootFS.DiffIDs)
	}
	files, modes := untar(t, layer)
	if files["usr/bin/stance"] != "the program" || modes["tmp/"] != 0o1777 || modes["usr/bin/stance"] != 0o755 {
		t.Errorf("layer has %q", files)
	}
	if c.Architecture != "amd64" || c.OS != "linux" || c.Config.User != "65532:65532" || c.Config.Entrypoint[0] != "/usr/bin/stance" {
		t.Errorf("config %+v", c)
	}
	var l []loaded
	from([]byte(data["manifest.json"]), &l)
	if want := blob(m.Config); l[0].Config != want || l[0].Layers[0] != blob(m.Layers[0]) || l[0].RepoTags[0] != "stance:v1.2.4-0.20261128000000-0123456789ab_dirty" {
		t.Errorf("manifest.json %+v", l)
	}
	if data["oci-layout"] != `{"imageLayoutVersion":"1.0.0"}` {
		t.Errorf("oci-layout %s", data["oci-layout"])
	}
}

// The same program gives the same bytes, in every form.
func TestSame(t *testing.T) {
	for system, write := range map[string]func(*release) ([]byte, error){"darwin": tarball, "windows": zipped, "linux": debian, "linux2": image} {
		r := invented(t, strings.TrimSuffix(system, "2"))
		first, err := write(r)
		if err != nil {
			t.Fatal(err)
		}
		for range 5 {
			if again, err := write(r); err != nil || !bytes.Equal(first, again) {
				t.Fatalf("%s: written again, the bytes differ; %v", system, err)
			}
		}
	}
}

func TestPapersThatAreMissing(t *testing.T) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	out := t.TempDir()
	if err := run(self, t.TempDir(), out, ""); err == nil || !strings.Contains(err.Error(), "LICENSE") {
		t.Errorf("no papers: %v", err)
	}
	if all, err := os.ReadDir(out); err != nil || len(all) > 0 {
		t.Errorf("something was written: %v %v", all, err)
	}
}
