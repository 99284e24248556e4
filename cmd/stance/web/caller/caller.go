// Package caller verifies the tokens with which programs call: JSON Web Tokens (RFC 7519) as CDS Hooks 2.0 has them, signed
// with a key of the caller's that the home was given as a JSON Web Key Set (RFC 7517).
//
// A token is good once, for one address, and not for long. Keys that a token brings along or refers to (jwk, jku, x5u) count
// for nothing.
package caller

import (
	"crypto/ecdsa"
	"crypto/ed25519"
	"crypto/rsa"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"net/http"
	"os"
	"strings"
	"sync"
	"time"

	"github.com/go-jose/go-jose/v4"
	"github.com/go-jose/go-jose/v4/jwt"

	"example.com/stance/cmd/stance/web/guard"
	"example.com/stance/lint/bounded"
)

const (
	// Leeway is how far the clocks of caller and server may be apart.
	Leeway = time.Minute
	// Longest is how long before its end a token may be used: until then it has to be remembered.
	Longest = time.Hour
	// mostTokens is how many of them are remembered at once. Only the caller can make more.
	mostTokens = 200_000

	mostToken   = 8 << 10 // bytes
	mostID      = 256     // bytes of a token's id
	mostKeys    = 64 << 10
	leastRSA    = 2048 // bits: NIST SP 800-131A rev. 2 (2019), section 3
	bearer      = "Bearer "
	maxAgeWords = "an hour"
)

// algorithms are those of public keys. CDS Hooks 2.0 recommends ES384 and RS384, and forbids none and what rests on a shared
// secret (HS…).
func algorithms() []jose.SignatureAlgorithm {
	return []jose.SignatureAlgorithm{
		jose.ES256, jose.ES384, jose.ES512, jose.RS256, jose.RS384, jose.RS512, jose.PS256, jose.PS384, jose.PS512, jose.EdDSA,
	}
}

// A Config says whose tokens are good.
type Config struct {
	Keys   string // file of the caller's JSON Web Key Set, read again when it changes
	Issuer string // what the caller calls itself in iss
	Now    func() time.Time
}

// A Verifier verifies tokens. Make one with [New]. It is safe for concurrent use.
type Verifier struct {
	config  Config
	started time.Time

	mu    sync.Mutex
	state string // of the file of keys
	keys  map[string]jose.JSONWebKey
	used  map[[sha256.Size]byte]time.Time // until when, by the hash of the id
	swept time.Time
}

// New reads the keys. The error says which file, and what was expected.
func New(c Config) (*Verifier, error) {
	v := &Verifier{config: c, started: c.Now().Truncate(time.Second), used: map[[sha256.Size]byte]time.Time{}}
	return v, v.read()
}

// Admit is who calls: the issuer, once the token in the header of a request is found to be good for it. It is no longer good
// then. The error says what is wrong in words that hold nothing of the token.
func (v *Verifier) Admit(r *http.Request) (string, error) {
	values := r.Header.Values("Authorization")
	if len(values) != 1 || len(values[0]) < len(bearer) || !strings.EqualFold(values[0][:len(bearer)], bearer) || len(values[0]) > mostToken {
		return "", errors.New("want one Authorization header with a Bearer token")
	}
	token, err := jwt.ParseSigned(values[0][len(bearer):], algorithms())
	if err != nil || len(token.Headers) != 1 {
		return "", fmt.Errorf("want a signed JSON Web Token, by one of %v", algorithms())
	}
	head := token.Headers[0]
	if kind, given := head.ExtraHeaders[jose.HeaderType]; given {
		if kind, ok := kind.(string); !ok || !strings.EqualFold(kind, "JWT") {
			return "", errors.New("want a token of type JWT")
		}
	}
	v.mu.Lock()
	defer v.mu.Unlock()
	if err := v.read(); err != nil {
		return "", err
	}
	key, ok := v.keys[head.KeyID]
	switch {
	case !ok:
		return "", errors.New("want a token whose kid is that of a key in the file of keys")
	case key.Algorithm != "" && key.Algorithm != head.Algorithm, !fits(key.Key, jose.SignatureAlgorithm(head.Algorithm)):
		return "", errors.New("want a token signed by the algorithm of its key")
	}
	var claims jwt.Claims
	if err := token.Claims(key.Key, &claims); err != nil {
		return "", errors.New("want a signature that fits the key")
	}
	if err := v.good(&claims, address(r)); err != nil {
		return "", err
	}
	return claims.Issuer, nil
}

// address is the address that was asked for, as the caller has to know it. The guard has looked at the host.
func address(r *http.Request) string {
	scheme, port := "http", "80"
	if r.TLS != nil {
		scheme, port = "https", "443"
	}
	host := strings.ToLower(r.Host)
	if h, p, err := net.SplitHostPort(host); err == nil && p == port {
		if host = h; strings.Contains(h, ":") {
			host = "[" + h + "]"
		}
	}
	return scheme + "://" + host + r.URL.Path
}

// good looks at what a token says, and takes down that it was used.
func (v *Verifier) good(c *jwt.Claims, address string) error {
	now := v.config.Now()
	switch {
	case c.Issuer != v.config.Issuer:
		return errors.New("want a token of the issuer that was named")
	case len(c.Audience) != 1 || c.Audience[0] != address:
		return fmt.Errorf("want a token for %s and nothing else (aud)", address)
	case c.Expiry == nil || c.IssuedAt == nil:
		return errors.New("want a token that says when it was made and when it ends (iat, exp)")
	case c.ID == "" || len(c.ID) > mostID:
		return fmt.Errorf("want a token with an id (jti) of at most %d bytes", mostID)
	case !now.Before(c.Expiry.Time().Add(Leeway)):
		return errors.New("the token has ended; are both clocks right?")
	case now.Add(Leeway).Before(c.IssuedAt.Time()), c.NotBefore != nil && now.Add(Leeway).Before(c.NotBefore.Time()):
		return errors.New("the token is not good yet; are both clocks right?")
	case c.Expiry.Time().Sub(now) > Longest+Leeway:
		return fmt.Errorf("want a token that ends within %s", maxAgeWords)
	case c.IssuedAt.Time().Before(v.started):
		// Which ones were used before this program started, nobody knows.
		return errors.New("the token was made before stance was started; a new one is good")
	}
	id := sha256.Sum256([]byte(c.ID))
	if until, used := v.used[id]; used && now.Before(until) {
		return errors.New("the token was used before (jti)")
	}
	v.sweep(now)
	if len(v.used) >= mostTokens {
		return fmt.Errorf("more than %d tokens were used within %s", mostTokens, maxAgeWords)
	}
	v.used[id] = c.Expiry.Time().Add(Leeway)
	return nil
}

// sweep forgets, once a minute, the tokens that have ended.
func (v *Verifier) sweep(now time.Time) {
	if now.Sub(v.swept) < time.Minute {
		return
	}
	v.swept = now
	for id, until := range v.used {
		if !now.Before(until) {
			delete(v.used, id)
		}
	}
}

// read reads the file of keys if it has changed.
func (v *Verifier) read() error {
	name := v.config.Keys
	info, err := os.Stat(name)
	if err != nil {
		var path *fs.PathError
		if errors.As(err, &path) {
			err = path.Err
		}
		return fmt.Errorf("%s: %w", name, err)
	}
	if !guard.Fixed(info) {
		return fmt.Errorf("%s: want a file that others cannot change, as after chmod 644", name)
	}
	state := fmt.Sprint(info.ModTime().UnixNano(), info.Size())
	if v.keys != nil && v.state == state {
		return nil
	}
	f, err := os.Open(name)
	if err != nil {
		return fmt.Errorf("%s: cannot be opened", name)
	}
	defer f.Close()
	b, err := bounded.All(f, mostKeys)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	keys, err := parse(b)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	v.keys, v.state = keys, state
	return nil
}

// parse gives the keys of a JSON Web Key Set by their ids. Keys for encryption are passed over.
func parse(b []byte) (map[string]jose.JSONWebKey, error) {
	var set struct {
		Keys []json.RawMessage `json:"keys"`
	}
	if err := json.Unmarshal(b, &set); err != nil || len(set.Keys) == 0 {
		return nil, errors.New(`want a JSON Web Key Set: {"keys": [ … ]}`)
	}
	keys := map[string]jose.JSONWebKey{}
	for i, raw := range set.Keys {
		var key jose.JSONWebKey
		if err := json.Unmarshal(raw, &key); err != nil {
			return nil, fmt.Errorf("key %d: want a JSON Web Key of type EC, RSA or OKP", i+1)
		}
		if key.Use == "enc" {
			continue
		}
		switch {
		case !key.IsPublic():
			return nil, fmt.Errorf("key %d: want a public key; whoever has a private one can call in the caller's place, so have it replaced", i+1)
		case key.KeyID == "":
			return nil, fmt.Errorf("key %d: want a key with a kid", i+1)
		case keys[key.KeyID].Key != nil:
			return nil, fmt.Errorf("key %d: its kid is that of another", i+1)
		}
		any := false
		for _, alg := range algorithms() {
			any = any || (key.Algorithm == "" || key.Algorithm == string(alg)) && fits(key.Key, alg)
		}
		if !any {
			return nil, fmt.Errorf("key %d: want a key of P-256, P-384, P-521, Ed25519, or RSA with at least %d bits, and an alg that fits it, one of %v", i+1, leastRSA, algorithms())
		}
		keys[key.KeyID] = key
	}
	if len(keys) == 0 {
		return nil, errors.New("want a key for signatures")
	}
	return keys, nil
}

// fits reports whether a signature by the algorithm can be one of the key.
func fits(key any, alg jose.SignatureAlgorithm) bool {
	switch key := key.(type) {
	case *ecdsa.PublicKey:
		switch key.Curve.Params().BitSize {
		case 256:
			return alg == jose.ES256
		case 384:
			return alg == jose.ES384
		case 521:
			return alg == jose.ES512
		}
	case *rsa.PublicKey:
		return key.N.BitLen() >= leastRSA && (strings.HasPrefix(string(alg), "RS") || strings.HasPrefix(string(alg), "PS"))
	case ed25519.PublicKey:
		return alg == jose.EdDSA
	}
	return false
}
