package main

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"strings"
	"time"
)

// nobody is the user that the program runs as in the image; a folder mounted for it must be that user's.
const nobody = 65532

// The parts of an image, as the OCI image specification 1.1 has them.
type (
	descriptor struct {
		MediaType   string            `json:"mediaType"`
		Digest      string            `json:"digest"`
		Size        int               `json:"size"`
		Platform    *platform         `json:"platform,omitempty"`
		Annotations map[string]string `json:"annotations,omitempty"`
	}
	platform struct {
		Architecture string `json:"architecture"`
		OS           string `json:"os"`
	}
	config struct {
		Created time.Time `json:"created"`
		platform
		Config struct {
			User       string            `json:"User"`
			Entrypoint []string          `json:"Entrypoint"`
			Cmd        []string          `json:"Cmd"`
			WorkingDir string            `json:"WorkingDir"`
			Labels     map[string]string `json:"Labels"`
		} `json:"config"`
		RootFS struct {
			Type    string   `json:"type"`
			DiffIDs []string `json:"diff_ids"`
		} `json:"rootfs"`
		History []history `json:"history"`
	}
	history struct {
		Created   time.Time `json:"created"`
		CreatedBy string    `json:"created_by"`
	}
	manifest struct {
		SchemaVersion int          `json:"schemaVersion"`
		MediaType     string       `json:"mediaType"`
		Config        descriptor   `json:"config"`
		Layers        []descriptor `json:"layers"`
	}
	index struct {
		SchemaVersion int          `json:"schemaVersion"`
		MediaType     string       `json:"mediaType"`
		Manifests     []descriptor `json:"manifests"`
	}
	loaded struct { // for programs that know no layouts of OCI
		Config   string
		RepoTags []string
		Layers   []string
	}
)

// image writes an image of one layer, from scratch, as a layout of OCI in a tar archive: the program, its licences, a
// folder for temporary files, and /data, which is for a home's files.
func image(r *release) ([]byte, error) {
	layer, err := r.pack("", byName([]file{
		{name: "data/", mode: 0o755, id: nobody},
		{name: "tmp/", mode: 0o1777},
		{name: "usr/bin/stance", mode: 0o755, data: r.program},
		{name: "usr/share/doc/stance/copyright", mode: 0o644, data: copyright(r)},
	}))
	if err != nil {
		return nil, err
	}
	packed, err := compressed(layer)
	if err != nil {
		return nil, err
	}
	on := platform{r.arch, r.os}
	c := config{Created: r.at, platform: on, History: []history{{r.at, "stance"}}}
	c.Config.User = fmt.Sprintf("%d:%d", nobody, nobody)
	c.Config.Entrypoint = []string{"/usr/bin/stance"}
	c.Config.Cmd = []string{"--help"}
	c.Config.WorkingDir = "/data"
	c.Config.Labels = map[string]string{
		"org.opencontainers.image.title":    "stance",
		"org.opencontainers.image.version":  r.version,
		"org.opencontainers.image.licenses": "Apache-2.0",
	}
	c.RootFS.Type, c.RootFS.DiffIDs = "layers", []string{digest(layer)}

	var files []file
	add := func(kind string, b []byte) descriptor {
		d := descriptor{MediaType: kind, Digest: digest(b), Size: len(b)}
		files = append(files, file{name: blob(d), mode: 0o644, data: b})
		return d
	}
	encode := func(kind string, v any) (descriptor, error) {
		b, err := json.Marshal(v)
		return add(kind, b), err
	}
	m := manifest{SchemaVersion: 2, MediaType: "application/vnd.oci.image.manifest.v1+json"}
	m.Layers = []descriptor{add("application/vnd.oci.image.layer.v1.tar+gzip", packed)}
	if m.Config, err = encode("application/vnd.oci.image.config.v1+json", c); err != nil {
		return nil, err
	}
	top, err := encode(m.MediaType, m)
	if err != nil {
		return nil, err
	}
	tag := strings.Map(func(c rune) rune {
		if c >= '0' && c <= '9' || c >= 'a' && c <= 'z' || c == '.' || c == '-' {
			return c
		}
		return '_'
	}, strings.Trim(r.version, "()"))
	if tag == "" {
		tag = "devel"
	}
	top.Platform, top.Annotations = &on, map[string]string{"org.opencontainers.image.ref.name": tag}
	for name, v := range map[string]any{
		"oci-layout":    map[string]string{"imageLayoutVersion": "1.0.0"},
		"index.json":    index{2, "application/vnd.oci.image.index.v1+json", []descriptor{top}},
		"manifest.json": []loaded{{blob(m.Config), []string{"stance:" + tag}, []string{blob(m.Layers[0])}}},
	} {
		b, err := json.Marshal(v)
		if err != nil {
			return nil, err
		}
		files = append(files, file{name: name, mode: 0o644, data: b})
	}
	return r.pack("", byName(files))
}

func digest(b []byte) string { return fmt.Sprintf("sha256:%x", sha256.Sum256(b)) }

func blob(d descriptor) string { return "blobs/" + strings.Replace(d.Digest, ":", "/", 1) }
