package main

import (
	"bytes"
	"crypto/md5" // the file md5sums is made of these; the release has SHA-256
	"fmt"
	"strings"
)

// debian writes a binary package (deb(5), version 2.0).
func debian(r *release) ([]byte, error) {
	files := []file{
		{name: "usr/bin/stance", mode: 0o755, data: r.program},
		{name: "usr/share/bash-completion/completions/stance", mode: 0o644, data: r.papers["stance.bash"]},
		{name: "usr/share/zsh/vendor-completions/_stance", mode: 0o644, data: r.papers["_stance"]},
		{name: "usr/share/fish/vendor_completions.d/stance.fish", mode: 0o644, data: r.papers["stance.fish"]},
		{name: "usr/share/doc/stance/README.md", mode: 0o644, data: r.papers["README.md"]},
		{name: "usr/share/doc/stance/copyright", mode: 0o644, data: copyright(r)},
	}
	for name, page := range r.pages {
		b, err := compressed(page)
		if err != nil {
			return nil, err
		}
		files = append(files, file{name: "usr/share/man/man1/" + name + ".gz", mode: 0o644, data: b})
	}
	files = byName(files)
	var sums bytes.Buffer
	size := 0
	for _, f := range files {
		if strings.HasSuffix(f.name, "/") {
			continue
		}
		size += len(f.data)
		fmt.Fprintf(&sums, "%x  %s\n", md5.Sum(f.data), f.name)
	}
	control := fmt.Sprintf(`Package: stance
Version: %s
Architecture: %s
Maintainer: The stance authors <stance@example.com>
Installed-Size: %d
Section: science
Priority: optional
Description: hold handover notes against the charted mobility status
 stance reads the free-text handover notes of a care home, understands what
 they say about mobility, and says where they conflict with the charted
 status, with other shifts and with safe practice.
 .
 It changes no record and decides nothing: check the resident, the chart, and
 the nurse or therapist. Local policy and licensed practice decide how a
 resident is moved.
`, debianVersion(r.version), r.arch, (size+1023)/1024) // Debian calls both architectures as Go does
	parts := []file{{name: "debian-binary", data: []byte("2.0\n")}}
	for _, part := range []struct {
		name  string
		files []file
	}{
		{"control.tar.gz", []file{{name: "", mode: 0o755}, {name: "control", mode: 0o644, data: []byte(control)}, {name: "md5sums", mode: 0o644, data: sums.Bytes()}}},
		{"data.tar.gz", append([]file{{name: "", mode: 0o755}}, files...)},
	} {
		b, err := r.pack("./", part.files)
		if err != nil {
			return nil, err
		}
		if b, err = compressed(b); err != nil {
			return nil, err
		}
		parts = append(parts, file{name: part.name, data: b})
	}
	var out bytes.Buffer
	out.WriteString("!<arch>\n")
	for _, p := range parts {
		fmt.Fprintf(&out, "%-16s%-12d%-6d%-6d%-8s%-10d`\n", p.name, r.at.Unix(), 0, 0, "100644", len(p.data))
		out.Write(p.data)
		if len(p.data)%2 == 1 {
			out.WriteByte('\n')
		}
	}
	return out.Bytes(), nil
}

// copyright is the licence of the program and of all that it is made of.
func copyright(r *release) []byte {
	return bytes.Join([][]byte{[]byte("stance is under the Apache License, Version 2.0:\n"), r.papers["LICENSE"],
		[]byte("What it is made of is under the following licences.\n"), r.papers["licences.txt"]}, []byte("\n"))
}

// debianVersion is a version of Go as Debian orders them: what comes before a release sorts below it.
func debianVersion(version string) string {
	v := strings.TrimPrefix(version, "v")
	if v == "" || v[0] < '0' || v[0] > '9' { // "(devel)"
		return "0~devel"
	}
	number, rest, early := strings.Cut(v, "-")
	if early {
		return number + "~" + strings.ReplaceAll(rest, "-", ".")
	}
	return v
}
