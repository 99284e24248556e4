package fhir

import (
	"encoding/base64"
	"mime"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/htmlindex"

	"example.com/stance/lint/internal/markup"
)

// words are the text of an attachment that holds one: text/plain or text/html in base64. Where there are none, unread
// says of what kind the attachment is, or want what was expected of one that cannot be read.
func (a *attachment) words() (text, unread, want string) {
	kind, params, err := mime.ParseMediaType(a.ContentType)
	switch {
	case a.ContentType == "":
		return "", "no content type", ""
	case err != nil:
		return "", "unknown content type", ""
	case kind != "text/plain" && kind != "text/html" && kind != "application/xhtml+xml":
		return "", kind, ""
	case a.Data == "":
		return "", "text not inline", ""
	}
	data, err := base64.StdEncoding.DecodeString(strings.Join(strings.Fields(a.Data), ""))
	if err != nil {
		return "", "", "base64 in the data of an attachment"
	}
	text, want = decoded(data, params["charset"])
	if want == "" && kind != "text/plain" {
		text = markup.Text(text)
	}
	return text, "", want
}

// decoded is data in a declared character set, or UTF-8 where none is.
func decoded(data []byte, charset string) (text, want string) {
	if charset != "" && !strings.EqualFold(charset, "utf-8") {
		enc, err := htmlindex.Get(charset)
		if err != nil {
			return "", "a character set that is known, in the content type of an attachment"
		}
		utf, err := enc.NewDecoder().Bytes(data)
		if err != nil || strings.ContainsRune(string(utf), utf8.RuneError) {
			return "", "an attachment in the character set that its content type declares"
		}
		data = utf
	}
	if !utf8.Valid(data) {
		return "", "UTF-8 in the data of an attachment, or its content type to declare another charset"
	}
	if strings.IndexByte(string(data), 0) >= 0 {
		return "", "text in an attachment, but there is a NUL byte"
	}
	return strings.TrimPrefix(string(data), "\uFEFF"), ""
}
