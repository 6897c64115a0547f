package page

import (
	"bytes"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"html"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"ledgerwheel/store"
)

// Every form that a person of the shop is shown is stamped, as it is written, with whose it is and on which page it
// stands. By that what was typed can be kept for its person when the session is over, and what is sent twice is done
// once. The stamp lets nobody in and does nothing: it only says to whom a form was shown.
const (
	formKeyField  = "form_key"
	formPageField = "form_page"
	keptQuery     = "kept" // in the address of a page: the kept form that it shows
)

// unstamped are the forms that keep nothing and are the same however often they are sent.
var unstamped = [][]byte{[]byte(`action="/sign-out"`), []byte(`action="/theme"`), []byte(`action="/kept/`)}

// formKey is made anew for each drawing of a page: a random part, the person, and a code that only the program can make.
func formKey(secret []byte, staffID int64) string {
	return codedKey(secret, rand.Text()[:16], staffID)
}

func codedKey(secret []byte, random string, staffID int64) string {
	said := random + "." + strconv.FormatInt(staffID, 10)
	mac := hmac.New(sha256.New, secret)
	mac.Write([]byte("form key " + said))
	return said + "." + base64.RawURLEncoding.EncodeToString(mac.Sum(nil)[:16])
}

// personOfKey is to whom the form was shown.
func personOfKey(secret []byte, key string) (staffID int64, ok bool) {
	parts := strings.Split(key, ".")
	if len(secret) == 0 || len(parts) != 3 {
		return 0, false
	}
	staffID, err := strconv.ParseInt(parts[1], 10, 64)
	if err != nil || staffID <= 0 {
		return 0, false
	}
	return staffID, hmac.Equal([]byte(key), []byte(codedKey(secret, parts[0], staffID)))
}

// stampForms writes the stamp into each form of a page that is sent by POST. In a page of ours "<form" begins a form and
// ">" ends its tag, since templ writes both as entities wherever else they stand.
func stampForms(r *http.Request, body []byte) []byte {
	v, ok := ViewerOf(r.Context())
	if !ok || !bytes.Contains(body, []byte("<form")) {
		return body
	}
	key, again := formKey(v.Shop.LinkSecret, v.Member.ID), ""
	if r.Method != http.MethodGet {
		if st := stampOf(r); st.own && !st.sending.Done() {
			key = st.key // it is still the same form, and nothing of it was saved
		}
		again = ` data-again` // drawn for an answer: it shows what was typed by itself
	}
	stamp := fmt.Sprintf(`<input type="hidden" name="%s" value="%s"%s><input type="hidden" name="%s" value="%s">`,
		formKeyField, html.EscapeString(key), again,
		formPageField, html.EscapeString(pageOfForms(r)))
	var out bytes.Buffer
	out.Grow(len(body) + 4096)
	for {
		at := bytes.Index(body, []byte("<form"))
		if at < 0 {
			out.Write(body)
			return out.Bytes()
		}
		end := at + bytes.IndexByte(body[at:], '>') + 1
		tag := body[at:end]
		out.Write(body[:end])
		body = body[end:]
		if bytes.Contains(tag, []byte(`method="post"`)) && !containsAny(tag, unstamped) {
			out.WriteString(stamp)
		}
	}
}

func containsAny(b []byte, any [][]byte) bool {
	for _, a := range any {
		if bytes.Contains(b, a) {
			return true
		}
	}
	return false
}

// pageOfForms is where the forms of a page are found by GET. A form that is shown again for an answer stands on the
// page on which it stood first.
func pageOfForms(r *http.Request) string {
	if r.Method == http.MethodGet || r.Method == http.MethodHead {
		k, _ := r.Context().Value(keptKey{}).(store.KeptForm)
		return withKept(r.URL.RequestURI(), k.ID)
	}
	if stood := stampOf(r).page; stood != "" {
		return stood
	}
	if from, err := url.Parse(r.Referer()); err == nil && from.Host == r.Host {
		return LocalPath(from.RequestURI())
	}
	return "/"
}

// LocalPath lets a form send people only to pages of this program.
func LocalPath(next string) string {
	if !strings.HasPrefix(next, "/") || strings.HasPrefix(next, "//") || strings.ContainsAny(next, "\\\r\n\t") {
		return "/"
	}
	return next
}

// withKept is a page's address with the kept form that it shows, or with none.
func withKept(path, id string) string {
	u, err := url.Parse(LocalPath(path))
	if err != nil {
		return "/"
	}
	q := u.Query()
	q.Del(keptQuery)
	if id != "" {
		q.Set(keptQuery, id)
	}
	u.RawQuery, u.Fragment = q.Encode(), ""
	return u.RequestURI()
}

// keptIn is the kept form that a page's address names.
func keptIn(path string) string {
	u, err := url.Parse(path)
	if err != nil {
		return ""
	}
	return u.Query().Get(keptQuery)
}
