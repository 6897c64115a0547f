package webtest

import (
	"bytes"
	"mime/multipart"
	"net/http"
	"testing"

	"ledgerwheel/domain/logo"
)

// LogoSVG is an invented shop's logo: a wheel over a quay.
const LogoSVG = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 240 100"><path fill="#24456b" fill-rule="evenodd"
	d="M50 5a40 40 0 1 0 .01 0zM50 25a20 20 0 1 1-.01 0z"/><path d="M100 70h130M100 85h130" stroke="#211c16" stroke-width="6"/></svg>`

// Logo is LogoSVG made fit to print.
func Logo(t testing.TB) logo.Picture {
	t.Helper()
	p, err := logo.Process([]byte(LogoSVG))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// SendLogo sends a file as the shop's logo.
func (c *Client) SendLogo(name string, data []byte) *Answer {
	c.T.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	part, err := w.CreateFormFile("logo", name)
	if err != nil {
		c.T.Fatal(err)
	}
	_, _ = part.Write(data) // a bytes.Buffer takes all
	w.Close()
	req, err := http.NewRequest(http.MethodPost, c.URL+"/settings/logo", &body)
	if err != nil {
		c.T.Fatal(err)
	}
	req.Header.Set("Content-Type", w.FormDataContentType())
	return c.Do(req)
}
