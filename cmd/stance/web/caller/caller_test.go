package caller_test

import (
	"crypto"
	"crypto/ecdsa"
	"crypto/ed25519"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/rsa"
	"crypto/tls"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/go-jose/go-jose/v4"
	"github.com/go-jose/go-jose/v4/jwt"

	"example.com/stance/cmd/stance/web/caller"
)

const (
	issuer  = "https://records.example.org"
	service = "https://stance.example.org/cds-services/stance-note"
)

var noon = time.Date(2026, 11, 24, 12, 0, 0, 0, time.UTC)

// A set of keys, made once: RSA takes a while.
type keySet struct {
	ec256, ec384 *ecdsa.PrivateKey
	rsa, short   *rsa.PrivateKey
	ed           ed25519.PrivateKey
}

var keys = sync.OnceValue(func() *keySet {
	k := &keySet{}
	k.ec256, _ = ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	k.ec384, _ = ecdsa.GenerateKey(elliptic.P384(), rand.Reader)
	k.rsa, _ = rsa.GenerateKey(rand.Reader, 2048)
	k.short, _ = rsa.GenerateKey(rand.Reader, 1024)
	_, k.ed, _ = ed25519.GenerateKey(rand.Reader)
	return k
})

func public(id, alg string, key crypto.Signer) jose.JSONWebKey {
	return jose.JSONWebKey{Key: key.Public(), KeyID: id, Algorithm: alg, Use: "sig"}
}

// writeKeys writes a key set.
func writeKeys(t testing.TB, name string, set ...jose.JSONWebKey) {
	t.Helper()
	b, err := json.Marshal(jose.JSONWebKeySet{Keys: set})
	if err == nil {
		err = os.WriteFile(name, b, 0o644)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// A made token is one that is good, but for what a test changes.
type made struct {
	alg    jose.SignatureAlgorithm
	key    any
	kid    string
	header map[jose.HeaderKey]any
	claims map[string]any
}

func good() *made {
	return &made{
		alg: jose.ES384, key: keys().ec384, kid: "k384", header: map[jose.HeaderKey]any{"typ": "JWT"},
		claims: map[string]any{"iss": issuer, "aud": service, "exp": noon.Add(5 * time.Minute).Unix(), "iat": noon.Unix(), "jti": rand.Text()},
	}
}

func (m *made) token(t testing.TB) string {
	t.Helper()
	opt := &jose.SignerOptions{ExtraHeaders: m.header}
	key := m.key
	if m.kid != "" {
		key = jose.JSONWebKey{Key: m.key, KeyID: m.kid}
	}
	s, err := jose.NewSigner(jose.SigningKey{Algorithm: m.alg, Key: key}, opt)
	if err != nil {
		t.Fatal(err)
	}
	token, err := jwt.Signed(s).Claims(m.claims).Serialize()
	if err != nil {
		t.Fatal(err)
	}
	return token
}

func request(method, url, token string) *http.Request {
	r := httptest.NewRequest(method, url, nil)
	if strings.HasPrefix(url, "https:") {
		r.TLS = &tls.ConnectionState{}
	}
	if token != "" {
		r.Header.Set("Authorization", "Bearer "+token)
	}
	return r
}

func newVerifier(t testing.TB, now *time.Time) *caller.Verifier {
	t.Helper()
	name := filepath.Join(t.TempDir(), "keys.json")
	k := keys()
	writeKeys(t, name, public("k384", "ES384", k.ec384), public("k256", "", k.ec256), public("rs", "RS384", k.rsa), public("ps", "", k.rsa), public("ed", "EdDSA", k.ed))
	v, err := caller.New(caller.Config{Keys: name, Issuer: issuer, Now: func() time.Time { return *now }})
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func TestAdmit(t *testing.T) {
	k := keys()
	claim := func(name string, value any) func(*made) {
		return func(m *made) {
			if m.claims[name] = value; value == nil {
				delete(m.claims, name)
			}
		}
	}
	for _, tt := range []struct {
		name   string
		change func(*made)
		want   string // in the error; empty: it is good
	}{
		{"ES384", func(*made) {}, ""},
		{"ES256", func(m *made) { m.alg, m.key, m.kid = jose.ES256, k.ec256, "k256" }, ""},
		{"RS384", func(m *made) { m.alg, m.key, m.kid = jose.RS384, k.rsa, "rs" }, ""},
		{"PS512", func(m *made) { m.alg, m.key, m.kid = jose.PS512, k.rsa, "ps" }, ""},
		{"EdDSA", func(m *made) { m.alg, m.key, m.kid = jose.EdDSA, k.ed, "ed" }, ""},
		{"no typ", func(m *made) { m.header = nil }, ""},
		{"audience as a list", claim("aud", []string{service}), ""},
		{"a tenant and a subject", func(m *made) { m.claims["tenant"], m.claims["sub"] = "home", "records" }, ""},
		{"just ended, as clocks differ", claim("exp", noon.Add(-50*time.Second).Unix()), ""},
		{"just to come, as clocks differ", claim("iat", noon.Add(50*time.Second).Unix()), ""},

		{"another algorithm than the key's", func(m *made) { m.alg, m.key, m.kid = jose.RS256, k.rsa, "rs" }, "by the algorithm of its key"},
		{"an algorithm of another type of key", func(m *made) { m.alg, m.key, m.kid = jose.RS256, k.rsa, "k256" }, "by the algorithm of its key"},
		{"another curve", func(m *made) { m.alg, m.key, m.kid = jose.ES384, k.ec384, "k256" }, "by the algorithm of its key"},
		{"another key", func(m *made) { m.key, _ = ecdsa.GenerateKey(elliptic.P384(), rand.Reader) }, "want a signature that fits"},
		{"a shared secret", func(m *made) { m.alg, m.key = jose.HS256, []byte("a secret of as many bytes as needed") }, "want a signed JSON Web Token"},
		{"the public key as a shared secret", func(m *made) {
			m.alg, m.key = jose.HS384, elliptic.MarshalCompressed(elliptic.P384(), k.ec384.X, k.ec384.Y)
		}, "want a signed JSON Web Token"},
		{"a key that is not there", func(m *made) { m.kid = "k999" }, "want a token whose kid"},
		{"no kid", func(m *made) { m.kid = "" }, "want a token whose kid"},
		{"a key that it brings along", func(m *made) {
			m.key, _ = ecdsa.GenerateKey(elliptic.P384(), rand.Reader)
			m.header["jku"] = "https://records.example.com/keys"
		}, "want a signature that fits"},
		{"of another type", func(m *made) { m.header["typ"] = "at+jwt" }, "of type JWT"},
		{"a header that must be understood", func(m *made) { m.header["crit"], m.header["b64"] = []string{"x"}, true }, "want "},
		{"another issuer", claim("iss", "https://records.example.com"), "want a token of the issuer"},
		{"no issuer", claim("iss", nil), "want a token of the issuer"},
		{"for another service", claim("aud", "https://stance.example.org/cds-services"), "want a token for " + service},
		{"for others too", claim("aud", []string{service, "https://cds.example.com"}), "want a token for"},
		{"for nobody", claim("aud", nil), "want a token for"},
		{"no end", claim("exp", nil), "when it ends"},
		{"not said when made", claim("iat", nil), "when it was made"},
		{"ended", claim("exp", noon.Add(-61*time.Second).Unix()), "has ended"},
		{"to come", claim("iat", noon.Add(61*time.Second).Unix()), "not good yet"},
		{"not before", claim("nbf", noon.Add(61*time.Second).Unix()), "not good yet"},
		{"too long", claim("exp", noon.Add(2*time.Hour).Unix()), "ends within an hour"},
		{"without end", claim("exp", 1e18), "ends within an hour"},
		{"an end in words", claim("exp", "tomorrow"), "want a signature that fits"},
		{"from before the start", claim("iat", noon.Add(-time.Second).Unix()), "made before stance was started"},
		{"no id", claim("jti", nil), "(jti)"},
		{"an endless id", claim("jti", strings.Repeat("x", 257)), "(jti)"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			now := noon
			m := good()
			tt.change(m)
			token := m.token(t)
			name, err := newVerifier(t, &now).Admit(request(http.MethodPost, service, token))
			switch {
			case tt.want == "" && (err != nil || name != issuer):
				t.Errorf("%q, %v", name, err)
			case tt.want != "" && (err == nil || !strings.Contains(err.Error(), tt.want)):
				t.Errorf("%q, %v, want %q", name, err, tt.want)
			}
			if err != nil {
				for _, part := range strings.Split(token, ".") {
					if strings.Contains(err.Error(), part) {
						t.Errorf("the error has a part of the token: %v", err)
					}
				}
			}
		})
	}
}

func TestAdmitHeader(t *testing.T) {
	encode := func(s string) string { return base64.RawURLEncoding.EncodeToString([]byte(s)) }
	claims := fmt.Sprintf(`{"iss":%q,"aud":%q,"exp":%d,"iat":%d,"jti":"1"}`, issuer, service, noon.Add(time.Minute).Unix(), noon.Unix())
	token := good().token(t)
	head, body, _ := strings.Cut(token, ".")
	for name, values := range map[string][]string{
		"nothing":             nil,
		"empty":               {""},
		"a password":          {"Basic YTpi"},
		"two":                 {"Bearer " + token, "Bearer " + token},
		"no signature":        {"Bearer " + head + "." + body[:strings.Index(body, ".")+1]},
		"none":                {"Bearer " + encode(`{"alg":"none","kid":"k384"}`) + "." + encode(claims) + "."},
		"None":                {"Bearer " + encode(`{"alg":"NONE","kid":"k384"}`) + "." + encode(claims) + "."},
		"two algorithms":      {"Bearer " + encode(`{"alg":"none","alg":"ES384","kid":"k384"}`) + "." + body},
		"another header":      {"Bearer " + encode(`{"alg":"ES384","kid":"k256"}`) + "." + body},
		"not a token":         {"Bearer ."},
		"very long":           {"Bearer " + strings.Repeat("a", 9000)},
		"serialized as JSON":  {`Bearer {"payload":"","signatures":[]}`},
		"bytes that are none": {"Bearer \xff.\xff.\xff"},
	} {
		now := noon
		r := request(http.MethodPost, service, "")
		for _, v := range values {
			r.Header.Add("Authorization", v)
		}
		if who, err := newVerifier(t, &now).Admit(r); err == nil {
			t.Errorf("%s: let in as %q", name, who)
		}
	}
	now := noon
	r := request(http.MethodPost, service, "")
	r.Header.Set("Authorization", "bearer "+token)
	if _, err := newVerifier(t, &now).Admit(r); err != nil {
		t.Errorf("bearer in small letters: %v", err)
	}
}

func TestAddress(t *testing.T) {
	for _, tt := range []struct{ url, host, aud string }{
		{"https://stance.example.org/cds-services", "", "https://stance.example.org/cds-services"},
		{"https://stance.example.org/cds-services", "stance.example.org:443", "https://stance.example.org/cds-services"},
		{"https://stance.example.org/cds-services", "STANCE.example.org:8420", "https://stance.example.org:8420/cds-services"},
		{"http://127.0.0.1:8420/cds-services", "", "http://127.0.0.1:8420/cds-services"},
		{"http://[::1]:80/cds-services", "", "http://[::1]/cds-services"},
	} {
		now := noon
		m := good()
		m.claims["aud"] = tt.aud
		r := request(http.MethodGet, tt.url, m.token(t))
		if tt.host != "" {
			r.Host = tt.host
		}
		if _, err := newVerifier(t, &now).Admit(r); err != nil {
			t.Errorf("%+v: %v", tt, err)
		}
	}
}

// A token is good once, however many try at the same time, and for as long as it lasts.
func TestReplay(t *testing.T) {
	now := noon
	v := newVerifier(t, &now)
	token := good().token(t)
	var let sync.Map
	var all sync.WaitGroup
	for i := range 20 {
		all.Go(func() {
			if _, err := v.Admit(request(http.MethodPost, service, token)); err == nil {
				let.Store(i, true)
			}
		})
	}
	all.Wait()
	n := 0
	let.Range(func(any, any) bool { n++; return true })
	if n != 1 {
		t.Errorf("let in %d times, want once", n)
	}
	other := good()
	jti := other.claims["jti"]
	if _, err := v.Admit(request(http.MethodPost, service, other.token(t))); err != nil {
		t.Errorf("another: %v", err)
	}
	now = noon.Add(5*time.Minute + 59*time.Second) // the leeway lasts
	again := good()
	again.claims["exp"], again.claims["jti"] = now.Add(time.Minute).Unix(), jti
	if _, err := v.Admit(request(http.MethodPost, service, again.token(t))); err == nil || !strings.Contains(err.Error(), "used before") {
		t.Errorf("its id once more: %v", err)
	}
	if _, err := v.Admit(request(http.MethodPost, service, token)); err == nil {
		t.Error("let in at its very end")
	}
	now = noon.Add(10 * time.Minute)
	if _, err := v.Admit(request(http.MethodPost, service, token)); err == nil || !strings.Contains(err.Error(), "has ended") {
		t.Errorf("after its end: %v", err)
	}
}

func TestKeys(t *testing.T) {
	k := keys()
	set := func(keys ...string) string { return `{"keys":[` + strings.Join(keys, ",") + `]}` }
	of := func(key jose.JSONWebKey) string {
		b, err := json.Marshal(key)
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	ok := of(public("a", "ES384", k.ec384))
	dir := t.TempDir()
	for i, tt := range []struct{ text, want string }{
		{set(ok), ""},
		{set(ok, of(jose.JSONWebKey{Key: k.rsa.Public(), KeyID: "b", Use: "enc", Algorithm: "RSA-OAEP"})), ""},
		{"", "want a JSON Web Key Set"},
		{"{}", "want a JSON Web Key Set"},
		{ok, "want a JSON Web Key Set"},
		{"-----BEGIN PUBLIC KEY-----", "want a JSON Web Key Set"},
		{set(ok, `{"kty":"EC"}`), "key 2: want a JSON Web Key"},
		{set(ok, ok), "key 2: its kid is that of another"},
		{set(of(public("", "ES384", k.ec384))), "key 1: want a key with a kid"},
		{set(of(jose.JSONWebKey{Key: k.ec384, KeyID: "a"})), "key 1: want a public key"},
		{set(of(jose.JSONWebKey{Key: []byte("secret"), KeyID: "a"})), "key 1: want a public key"},
		{set(of(public("a", "ES256", k.ec384))), "key 1: want a key of P-256"},
		{set(of(public("a", "", k.short))), "RSA with at least 2048 bits"},
		{set(of(jose.JSONWebKey{Key: k.rsa.Public(), KeyID: "b", Use: "enc"})), "want a key for signatures"},
		{strings.Repeat(" ", 1<<17), "keys.json: "},
	} {
		name := filepath.Join(dir, fmt.Sprint(i, "keys.json"))
		if err := os.WriteFile(name, []byte(tt.text), 0o644); err != nil {
			t.Fatal(err)
		}
		_, err := caller.New(caller.Config{Keys: name, Issuer: issuer, Now: time.Now})
		if tt.want == "" && err != nil || tt.want != "" && (err == nil || !strings.Contains(err.Error(), tt.want)) {
			t.Errorf("%.80s: %v, want %q", tt.text, err, tt.want)
		}
	}
	loose := filepath.Join(dir, "loose.json")
	if err := os.WriteFile(loose, []byte(set(ok)), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(loose, 0o666); err != nil {
		t.Fatal(err)
	}
	if _, err := caller.New(caller.Config{Keys: loose, Issuer: issuer, Now: time.Now}); err == nil || !strings.Contains(err.Error(), "others cannot change") {
		t.Errorf("a file that others can change: %v", err)
	}
}

// Keys that are exchanged count at once; a file that cannot be read lets nobody in.
func TestKeysChange(t *testing.T) {
	name := filepath.Join(t.TempDir(), "keys.json")
	k := keys()
	writeKeys(t, name, public("k384", "", k.ec384))
	v, err := caller.New(caller.Config{Keys: name, Issuer: issuer, Now: func() time.Time { return noon }})
	if err != nil {
		t.Fatal(err)
	}
	try := func(m *made) error {
		_, err := v.Admit(request(http.MethodPost, service, m.token(t)))
		return err
	}
	if err := try(good()); err != nil {
		t.Error(err)
	}
	writeKeys(t, name, public("new", "", k.ec256))
	if err := try(good()); err == nil {
		t.Error("the old key still lets in")
	}
	m := good()
	m.alg, m.key, m.kid = jose.ES256, k.ec256, "new"
	if err := try(m); err != nil {
		t.Errorf("the new key: %v", err)
	}
	if err := os.Remove(name); err != nil {
		t.Fatal(err)
	}
	if err := try(m); err == nil || !strings.Contains(err.Error(), "keys.json") {
		t.Errorf("without the file: %v", err)
	}
}

func FuzzAdmit(f *testing.F) {
	f.Add(good().token(f))
	f.Add("eyJhbGciOiJub25lIn0.e30.")
	f.Add("..")
	now := noon
	v := newVerifier(f, &now)
	f.Fuzz(func(t *testing.T, token string) {
		if len(token) > 0 && strings.Count(token, ".") == 2 {
			r := request(http.MethodPost, "https://stance.example.org/other", token)
			if who, err := v.Admit(r); err == nil {
				t.Errorf("let in as %q", who)
			}
		}
	})
}

func FuzzKeys(f *testing.F) {
	f.Add([]byte(`{"keys":[{"kty":"EC","crv":"P-384","kid":"a","x":"","y":""}]}`))
	f.Add([]byte(`{"keys":[{"kty":"RSA","n":"AQAB","e":"AQAB","kid":"a"}]}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		name := filepath.Join(t.TempDir(), "keys.json")
		if err := os.WriteFile(name, text, 0o644); err != nil {
			t.Fatal(err)
		}
		_, _ = caller.New(caller.Config{Keys: name, Issuer: issuer, Now: time.Now})
	})
}
