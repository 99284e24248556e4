package cli

import (
	"fmt"
	"net/url"
	"slices"

	"github.com/spf13/cobra"

	"example.com/stance/cmd/stance/web/caller"
	"example.com/stance/cmd/stance/web/guard"
	"example.com/stance/cmd/stance/web/pages"
	"example.com/stance/lint/report"
)

// hooksFlags say which program may call the services of CDS Hooks. Without keys they are not there.
type hooksFlags struct {
	keys, issuer   string
	units, origins []string
}

func (h *hooksFlags) register(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&h.keys, "cds-keys", "", "`file` of the public keys (JWKS) of a program that may call the services of CDS Hooks")
	f.StringVar(&h.issuer, "cds-issuer", "", "what that program calls itself in its tokens (iss), a `URI`")
	f.StringSliceVar(&h.units, "cds-units", nil, "`units` whose residents it may be shown, or all")
	f.StringArrayVar(&h.origins, "cds-origin", nil, "`site` whose pages may call from a browser, as https://records.example.org; may be given again")
}

// check refuses flags that do not go together, before any file is touched.
func (h *hooksFlags) check(accessLog string) error {
	switch {
	case h.keys == "" && (h.issuer != "" || len(h.units) > 0 || len(h.origins) > 0):
		return usagef("--cds-issuer, --cds-units and --cds-origin are for --cds-keys FILE")
	case h.keys == "":
		return nil
	case h.issuer == "":
		return usagef("--cds-keys: want --cds-issuer URI with it, so that a key lets in nobody else")
	case len(h.units) == 0 || slices.Contains(h.units, ""):
		return usagef("--cds-keys: want --cds-units with it, the units whose residents may be shown, or all")
	case accessLog == "":
		return usagef("--cds-keys: want --access-log FILE with it, to tell who saw which resident")
	}
	for _, origin := range h.origins {
		u, err := url.Parse(origin)
		if err != nil || u.Host == "" || origin != u.Scheme+"://"+u.Host || u.Scheme != "https" && u.Scheme != "http" {
			return usagef("--cds-origin %q: want a site and nothing behind it, as https://records.example.org", origin)
		}
	}
	return nil
}

// callers are let in by the guard; nil for none.
func (a *app) callers(h *hooksFlags) (*guard.Callers, error) {
	if h.keys == "" {
		return nil, nil
	}
	v, err := caller.New(caller.Config{Keys: h.keys, Issuer: h.issuer, Now: a.now})
	if err != nil {
		return nil, usagef("--cds-keys %w", err)
	}
	return &guard.Callers{Path: pages.HooksPath, Admit: v.Admit, Units: h.units, Origins: h.origins}, nil
}

// said tells where the services are.
func (h *hooksFlags) said(address string) string {
	if h.keys == "" {
		return ""
	}
	return fmt.Sprintf("CDS Hooks: %s%s, for %s.\n", address, pages.HooksPath[1:], report.Printable(h.issuer))
}
