package office_test

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/logo"
	"ledgerwheel/web/webtest"
)

// logos counts the pictures that are kept.
func logos(t *testing.T, s *webtest.Site) (n int) {
	t.Helper()
	if err := s.Store.Pool().QueryRow(t.Context(), `SELECT count(*) FROM logo`).Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n
}

// blot is a PNG of one colour.
func blot(t *testing.T, w, h int, c color.Color) []byte {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			img.Set(x, y, c)
		}
	}
	var out bytes.Buffer
	if err := png.Encode(&out, img); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// TestALogoIsTakenPrintedAndTakenOff: as SVG and as PNG; papers print it from then on, a paper of before keeps what it had,
// the customer's page bears it, and the list of first steps is ticked by it or by the word that none is wanted.
func TestALogoIsTakenPrintedAndTakenOff(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	owner := s.As(s.Owner)
	ticket := func(number string) string {
		return s.As(s.Clerk).Get("/dockets/" + number + "/papers/claim-ticket").Want(http.StatusOK).Body
	}
	pdf := func(number string) string {
		return s.As(s.Clerk).Get("/dockets/" + number + "/papers/claim-ticket.pdf").Want(http.StatusOK).Body
	}
	before := s.TakeIn("name", "Ada Quillmarsh", "phone", "01632 960121", "serial", "90-111")
	if got := owner.Get("/first-steps").Text("step-logo"); !strings.Contains(got, "to do") {
		t.Errorf("of the logo it says %q", got)
	}
	owner.Get("/settings/logo").Want(http.StatusOK).One("no-logo")
	owner.Post("/settings/logo/none", url.Values{"wanted": {"no"}}).Want(http.StatusSeeOther)
	if got := owner.Get("/first-steps").Text("step-logo"); !strings.Contains(got, "done") {
		t.Errorf("none is wanted: %q", got)
	}

	owner.SendLogo("logo.svg", []byte(webtest.LogoSVG)).Want(http.StatusSeeOther)
	sh, err := s.Store.Shop(t.Context())
	if err != nil || sh.Logo != webtest.Logo(t).Name || sh.LogoNone {
		t.Fatalf("kept is %q, none %v, %v", sh.Logo, sh.LogoNone, err)
	}
	shown := owner.Get("/settings/logo").Want(http.StatusOK)
	if n := len(shown.All("paper-sample")); n != 3 || strings.Count(shown.Body, `href="/logo/`+string(sh.Logo)+`"`) < 3 {
		t.Errorf("%d papers are shown with it", n)
	}
	picture := s.Stranger().Get("/logo/" + string(sh.Logo)).Want(http.StatusOK)
	if picture.Header.Get("Content-Type") != "image/png" || !sh.Logo.Holds([]byte(picture.Body)) {
		t.Error("a stranger does not see the logo")
	}
	s.Stranger().Get("/logo/" + strings.Replace(string(sh.Logo), string(sh.Logo)[:4], "0000", 1)).Want(http.StatusNotFound)
	s.Stranger().Get("/logo/mark.svg").Want(http.StatusNotFound)

	with := s.TakeIn("name", "Brin Sollis", "phone", "01632 960124", "email", "brin@example.org", "serial", "88-231")
	if !strings.Contains(ticket(with), "/logo/"+string(sh.Logo)) || !strings.Contains(pdf(with), "/Subtype /Image") {
		t.Error("the ticket does not print the logo")
	}
	if strings.Contains(ticket(before), "/logo/") || strings.Contains(pdf(before), "/Subtype /Image") {
		t.Error("the ticket of before prints a logo")
	}
	for _, name := range []string{"claim+ticket", "warranty+card"} {
		if !strings.Contains(owner.Get("/first-steps/print.pdf?paper="+name).Body, "/Subtype /Image") {
			t.Errorf("the sample of the %s does not print the logo", name)
		}
	}
	s.Send(with)
	if body := s.Stranger().Get(s.LinkPath(with)).Want(http.StatusOK).Body; !strings.Contains(body, `class="shop-logo" src="/logo/`+string(sh.Logo)) {
		t.Error("the customer's page does not bear the logo")
	}

	owner.SendLogo("logo.png", blot(t, 300, 200, color.NRGBA{90, 20, 20, 255})).Want(http.StatusSeeOther)
	owner.SendLogo("logo.svg", []byte(webtest.LogoSVG)).Want(http.StatusSeeOther) // back to the first, which is kept once
	if n := logos(t, s); n != 2 {
		t.Errorf("%d logos are kept, want 2", n)
	}
	owner.Post("/settings/logo/none", nil).Want(http.StatusSeeOther)
	if sh, _ := s.Store.Shop(t.Context()); sh.Logo != "" || sh.LogoNone {
		t.Errorf("after it was taken off: %q, none %v", sh.Logo, sh.LogoNone)
	}
	if !strings.Contains(pdf(with), "/Subtype /Image") {
		t.Error("the ticket lost its logo")
	}
	s.As(s.Clerk).SendLogo("logo.png", blot(t, 300, 200, color.Black)).Want(http.StatusForbidden)
}

// TestABadLogoIsRefusedBesideTheField: each with its sentence, and nothing is kept.
func TestABadLogoIsRefusedBesideTheField(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	owner := s.As(s.Owner)
	rect := `<rect width="50" height="50"/></svg>`
	head := `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100">`
	for name, c := range map[string]struct {
		data []byte
		says string
	}{
		"nothing":        {nil, "Choose the file"},
		"too big":        {bytes.Repeat([]byte{7}, logo.MaxBytes+9), "too large"},
		"no image":       {[]byte("Dear customer"), "no logo that can be read"},
		"script":         {[]byte(head + `<script>fetch("/")</script>` + rect), "holds a script"},
		"entity":         {[]byte(`<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/passwd">]>` + head + rect), "declares entities"},
		"outside itself": {[]byte(head + `<image href="http://192.0.2.1/a.png"/>` + rect), "outside itself"},
		"huge view box":  {[]byte(strings.Replace(head, "0 0 100 100", "0 0 1e18 1e18", 1) + rect), "view box"},
		"white":          {blot(t, 100, 100, color.White), "Nothing is to be seen"},
	} {
		a := owner.SendLogo("logo", c.data).Want(http.StatusUnprocessableEntity)
		if got := a.Problem("logo"); !strings.Contains(got, c.says) {
			t.Errorf("%s: %q, want %q", name, got, c.says)
		}
	}
	if sh, err := s.Store.Shop(t.Context()); err != nil || sh.Logo != "" || logos(t, s) != 0 {
		t.Errorf("kept is %q, %d pictures, %v", sh.Logo, logos(t, s), err)
	}
}
