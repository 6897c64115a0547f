package parcels_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/docket"
	"ledgerwheel/web/webtest"
)

func fields(pairs ...string) url.Values {
	f := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		f.Set(pairs[i], pairs[i+1])
	}
	return f
}

// TestWatchThatComesByPost writes down a parcel with photographs and takes in the watch from it.
func TestWatchThatComesByPost(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Clerk)
	parcel := func(changes ...string) *webtest.Answer {
		f := webtest.SentForm{Action: "/parcels/new", Multipart: true, Files: []string{"photos"}, Content: webtest.JPEGOf(t, 40, 30, 1),
			Fields: fields(append([]string{"carrier", "Estuary Post", "number", "EP 4411 2", "sender", "Ada Quillmarsh\nSaltby", "seal", "broken",
				"box", "damaged", "things", "2", "contents", "watch\nbox"}, changes...)...)}
		return c.Send(f)
	}
	bad := parcel("seal", "", "things", "many").Want(http.StatusUnprocessableEntity)
	if bad.Problem("things") == "" || !strings.Contains(bad.Text("form-errors"), "seal") || bad.Value("number") != "EP 4411 2" {
		t.Errorf("refused: %q", bad.Text("form-errors"))
	}
	at := parcel().Want(http.StatusSeeOther).Location()
	page := c.Get(at).Want(http.StatusOK)
	if got := page.Text("parcel"); !strings.Contains(got, "Seal broken, box damaged, 2 things counted") || !strings.Contains(got, "not taken in yet") {
		t.Errorf("the parcel: %q", got)
	}
	if len(page.All("photographs")) != 1 {
		t.Error("its photograph is not shown")
	}
	for _, size := range []string{"thumb", "full"} {
		if pic := c.Get("/parcels/photos/1/" + size).Want(http.StatusOK); pic.Header.Get("Content-Type") != "image/jpeg" {
			t.Errorf("%s: %s", size, pic.Header.Get("Content-Type"))
		}
	}
	number := s.TakeIn("parcel", strings.TrimPrefix(at, "/parcels/"))
	if got := c.Get(at).Text("parcel"); !strings.Contains(got, number) {
		t.Errorf("the parcel does not name the docket: %q", got)
	}
	if got := c.Get("/dockets/" + number + "/journal"); !strings.Contains(webtest.TextOf(got.Document), "Came by post in parcel EP 4411 2 of Estuary Post") {
		t.Error("the docket's journal does not say that it came by post")
	}
	if got := webtest.Attr(c.Get("/dockets/"+number+"/intake").One("parcel-link"), "href"); got != at {
		t.Errorf("the sheet leads to %q", got)
	}
	c.Post("/intake", webtest.CounterForm("parcel", "99", "serial", "x 1", "customer_choice", "new")).Want(http.StatusUnprocessableEntity)
}

// TestWatchThatGoesByPost sends a watch: refused above the carrier's limit, without consent, and unpaid; then it closes.
func TestWatchThatGoesByPost(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	s, at := l.Site, l.Path+"/post"
	owner, clerk := s.As(l.Owner), s.As(l.Clerk)
	if got := clerk.Get(at).Want(http.StatusOK); len(got.All("no-carrier")) != 1 {
		t.Errorf("without a carrier: %q", webtest.TextOf(got.Document))
	}
	owner.Post("/carriers", fields("name", "Estuary Insured", "limit", "none")).Want(http.StatusUnprocessableEntity)
	owner.Post("/carriers", fields("name", "Estuary Insured", "limit", "2500", "note", "terms of March")).Want(http.StatusSeeOther)
	if got := owner.Get("/carriers").Text("carriers"); !strings.Contains(got, "2,500.00") || !strings.Contains(got, "takes no lithium cells") {
		t.Errorf("carriers: %q", got)
	}
	prepared := func(changes ...string) url.Values {
		return fields(append([]string{"version", s.Version(l.N.String()), "carrier", "1", "value", "2500", "to_name", "Ada Quillmarsh", "street", "3 Row",
			"town", "Saltby", "postcode", "sb1 4tq", "country", "gb", "contents", "1 watch", "cell", "none", "nothing_barred", "yes",
			"consent_by", "Ada Quillmarsh", "consent_how", "mail", "consent_on", "2026-11-24"}, changes...)...)
	}
	for _, tt := range []struct{ field, typed, says string }{
		{"value", "2500.01", "insures up to"}, {"consent_by", "", "agreed"}, {"consent_how", "", "in writing"}, {"carrier", "9", "Choose the carrier"},
		{"nothing_barred", "", "Look into the box"}, {"country", "Britain", "two letters"},
	} {
		got := clerk.Post(at, prepared(tt.field, tt.typed)).Want(http.StatusUnprocessableEntity)
		if !strings.Contains(got.Text("form-errors"), tt.says) || got.Typed("street") != "3 Row" {
			t.Errorf("%s %q: %q", tt.field, tt.typed, got.Text("form-errors"))
		}
	}
	clerk.Get(l.Path + "/papers/address-label.pdf").Want(http.StatusNotFound)
	give := func(changes ...string) url.Values {
		return fields(append([]string{"version", s.Version(l.N.String()), "number", "EP 77 1", "proof", "receipt 12", "old_parts", "none"}, changes...)...)
	}
	if got := clerk.Post(at+"/give", give()).Want(http.StatusUnprocessableEntity); !strings.Contains(got.Text("form-errors"), "No parcel is ready") {
		t.Errorf("given before it is ready: %q", got.Text("form-errors"))
	}
	clerk.Post(at, prepared()).Want(http.StatusSeeOther)
	label := clerk.Get(l.Path + "/papers/address-label").Want(http.StatusOK).Text("label-to")
	if label != "To Ada Quillmarsh 3 Row Saltby SB1 4TQ" && !strings.HasPrefix(label, "To Ada Quillmarsh 3 Row Saltby") {
		t.Errorf("the label: %q", label)
	}
	clerk.Get(l.Path + "/papers/address-label.pdf").Want(http.StatusOK)

	if got := clerk.Post(at+"/give", give()); got.Status < 400 || got.Text("form-errors") == "" {
		t.Errorf("an unpaid watch goes out: %d", got.Status)
	}
	clerk.Post(l.Path+"/hand-over/payment", l.PayForm("120", "transfer")).Want(http.StatusSeeOther)
	bad := clerk.Post(at+"/give", give("proof", "", "old_parts", "")).Want(http.StatusUnprocessableEntity)
	if bad.Problem("proof") == "" || !strings.Contains(bad.Text("form-errors"), "old parts") || bad.Value("number") != "EP 77 1" {
		t.Errorf("without proof: %q", bad.Text("form-errors"))
	}
	clerk.Post(at+"/give", give()).Want(http.StatusSeeOther)
	h, err := s.Store.Head(t.Context(), l.N)
	if err != nil || !h.Docket.Closed() || h.Docket.Stage != docket.StageHandedOver || h.Facts.CollectedBy != "Estuary Insured" {
		t.Fatalf("the docket: %+v, %v", h.Docket, err)
	}
	after := clerk.Get(at).Want(http.StatusOK)
	if got := after.Text("parcel"); !strings.Contains(got, "EP 77 1") || !strings.Contains(got, "receipt 12") || len(after.All("give-form")) != 0 {
		t.Errorf("after: %q", got)
	}
	clerk.Post(at+"/give", give("version", s.Version(l.N.String()))).Want(http.StatusUnprocessableEntity)
}
