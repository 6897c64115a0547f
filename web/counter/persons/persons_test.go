package persons_test

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/shop"
	"ledgerwheel/web/webtest"
)

// TestMergeOnThePage: two records are laid side by side, merged after being asked once more, and the old address leads on.
func TestMergeOnThePage(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn("name", "Ada Quillmarsh")
	other := webtest.Itoa(s.Sheet(number).Head.Customer.ID)
	id, err := s.Store.AddCustomer(t.Context(), customer.Customer{Name: "Ada Quilmarsh", Phone: "01632 960777", Notes: "rings late"}.Tidied("GB"), webtest.Now)
	if err != nil {
		t.Fatal(err)
	}
	kept := webtest.Itoa(id)
	c := s.As(s.Clerk)
	if got := c.Get("/customers/" + kept).Want(http.StatusOK).Text("alike"); !strings.Contains(got, "nearly the same name") {
		t.Errorf("the page says of records that are alike: %q", got)
	}
	if got := c.Get("/customers/" + kept + "/merge").Want(http.StatusOK).Text("other"); !strings.Contains(got, "Ada Quillmarsh") {
		t.Errorf("offered are %q", got)
	}
	page := c.Get("/customers/" + kept + "/merge?other=" + other).Want(http.StatusOK)
	form := url.Values{"other": {other}, "kept_version": {page.Hidden("kept_version")}, "other_version": {page.Hidden("other_version")},
		"name": {"other"}, "phone": {"kept"}, "email": {"other"}, "notes": {"kept"}, "why": {""}}
	if got := c.Post("/customers/"+kept+"/merge", form).Want(http.StatusUnprocessableEntity).Problem("why"); !strings.Contains(got, "Write why") {
		t.Errorf("without a reason: %q", got)
	}
	form.Set("why", "The same person, as she says.")
	asked := c.Post("/customers/"+kept+"/merge", form).Want(http.StatusOK)
	if got := asked.Text("sure-text"); !strings.Contains(got, "customer "+kept) || !strings.Contains(got, "Ada Quillmarsh") {
		t.Errorf("asked %q", got)
	}
	if got := c.PostSure("/customers/"+kept+"/merge", form).Location(); got != "/customers/"+kept {
		t.Errorf("merging leads to %q", got)
	}
	if got := c.Get("/customers/" + other).Want(http.StatusSeeOther).Location(); got != "/customers/"+kept {
		t.Errorf("the old address leads to %q", got)
	}
	merged := c.Get("/customers/" + kept).Want(http.StatusOK)
	if got := merged.Text("merged"); !strings.Contains(got, "Ada Quilmarsh") || !strings.Contains(got, "The same person, as she says.") || !strings.Contains(got, "1 dockets") {
		t.Errorf("of the merging the page says %q", got)
	}
	if got := merged.Text("dockets"); !strings.Contains(got, number) {
		t.Errorf("dockets %q", got)
	}
}

// left is a site at which a watch was handed over, as webtest.Leaving has it.
func left(t *testing.T) (l *webtest.Leaving, id string) {
	l = webtest.NewLeaving(t)
	l.Ready()
	l.Issue()
	l.Gone()
	return l, webtest.Itoa(l.Sheet(l.N.String()).Head.Customer.ID)
}

// TestExport reads an export back with another's reader of archives and of JSON, and holds what is in it against the record.
func TestExport(t *testing.T) {
	t.Parallel()
	l, id := left(t)
	l.As(l.Clerk).Get("/customers/" + id + "/everything.zip").Want(http.StatusForbidden)
	got := l.As(l.Owner).Get("/customers/" + id + "/everything.zip").Want(http.StatusOK)
	if d := got.Header.Get("Content-Disposition"); !strings.Contains(d, "customer-"+id+"-") || got.Header.Get("Content-Type") != "application/zip" {
		t.Errorf("sent as %q", d)
	}
	z, err := zip.NewReader(strings.NewReader(got.Body), int64(len(got.Body)))
	if err != nil {
		t.Fatal(err)
	}
	has := map[string][]byte{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		if has[f.Name], err = io.ReadAll(r); err != nil {
			t.Fatalf("%s: %v", f.Name, err)
		}
	}
	folder := "dockets/" + l.N.String() + "/"
	for _, name := range []string{"README.txt", "fields.json", "person.json", folder + "record.json", folder + "journal.json",
		folder + "papers/claim-ticket.pdf", folder + "papers/invoice.pdf", folder + "papers/warranty-card.pdf", folder + "papers/estimate-1.pdf", folder + "papers/bulletin.pdf"} {
		if len(has[name]) == 0 {
			t.Errorf("there is no %s among %v", name, slices.Sorted(func(yield func(string) bool) {
				for n := range has {
					if !yield(n) {
						return
					}
				}
			}))
		}
		if strings.HasSuffix(name, ".pdf") && !bytes.HasPrefix(has[name], []byte("%PDF-")) {
			t.Errorf("%s is no PDF", name)
		}
	}
	if len(has["NOT-INCLUDED.txt"]) != 0 {
		t.Errorf("left out: %s", has["NOT-INCLUDED.txt"])
	}
	var person, record map[string][]map[string]any
	var journal []map[string]any
	var fields map[string]map[string]map[string]string
	for name, into := range map[string]any{"person.json": &person, folder + "record.json": &record, folder + "journal.json": &journal, "fields.json": &fields} {
		if err := json.Unmarshal(has[name], into); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
	}
	h := l.Sheet(l.N.String()).Head
	if len(person["customer"]) != 1 || person["customer"][0]["name"] != h.Customer.Name || len(person["watch"]) != 1 || person["watch"][0]["serial"] != h.Watch.Serial {
		t.Errorf("the person is %v", person)
	}
	if record["docket"][0]["number"] != l.N.String() || len(record["payment"]) == 0 || len(record["reading"]) == 0 || int64(len(journal)) != h.Docket.Version {
		t.Errorf("of the docket there are tables %d and %d entries of the journal, want %d", len(record), len(journal), h.Docket.Version)
	}
	at, err := time.Parse(time.RFC3339, record["docket"][0]["received_at"].(string))
	if _, offset := at.Zone(); err != nil || offset != 0 || !at.Equal(h.Docket.ReceivedAt) {
		t.Errorf("received at %v, %v", at, err)
	}
	if fields["payment"]["minor"]["means"] == "" || fields["docket"]["declared_minor"]["means"] == "" {
		t.Errorf("fields %v", fields["payment"])
	}
	if j, err := l.Store.ShopJournal(t.Context(), 0); err != nil || j.Entries[0].Kind != docket.DataExported || j.Entries[0].By.Name != l.Owner.Name {
		t.Errorf("the shop's journal says %+v, %v", j.Entries[0], err)
	}
}

// TestEraseOnThePage: what stands against it is said; then the owner says why, is asked once more, and the person is gone
// from pages, papers and exports.
func TestEraseOnThePage(t *testing.T) {
	t.Parallel()
	l, id := left(t)
	owner := l.As(l.Owner)
	l.As(l.Clerk).Get("/customers/" + id + "/erase").Want(http.StatusForbidden)
	if got := owner.Get("/customers/" + id + "/erase").Want(http.StatusOK).Text("against"); !strings.Contains(got, "warranty") || !strings.Contains(got, "how many years") {
		t.Errorf("against it stands %q", got)
	}
	sh, err := l.Store.Shop(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	saves(t, l, sh)
	l.Pass(4 * 366 * 24 * time.Hour)
	owner = l.As(l.Owner)
	page := owner.Get("/customers/" + id + "/erase").Want(http.StatusOK)
	name := l.Sheet(l.N.String()).Head.Customer.Name
	form := url.Values{"version": {page.Hidden("version")}, "words": {page.Value("words") + "\nAdda"}, "why": {"Asked for by letter."}}
	if got := page.Typed("words"); !strings.Contains(got, name) {
		t.Errorf("words to take out: %q", got)
	}
	if got := owner.PostSure("/customers/"+id+"/erase", form).Location(); got != "/customers/"+id {
		t.Errorf("erasing leads to %q", got)
	}
	shown := owner.Get("/customers/" + id).Want(http.StatusOK)
	if got := shown.Text("erased"); !strings.Contains(got, "Asked for by letter.") || !strings.Contains(got, "under their seal") {
		t.Errorf("the page says %q", got)
	}
	pages := map[string]string{"customer": shown.Body, "journal": owner.Get("/dockets/" + l.N.String() + "/journal").Want(http.StatusOK).Body,
		"ticket": owner.Get("/dockets/" + l.N.String() + "/papers/claim-ticket").Want(http.StatusOK).Body,
		"export": owner.Get("/customers/" + id + "/everything.zip").Want(http.StatusOK).Body}
	for what, body := range pages {
		for _, word := range []string{name, strings.Fields(name)[1], "960123"} {
			if strings.Contains(body, word) {
				t.Errorf("%s still says %q", what, word)
			}
		}
	}
	if !strings.Contains(pages["ticket"], "Customer "+id) {
		t.Error("the ticket does not name the pseudonym")
	}
}

func saves(t *testing.T, l *webtest.Leaving, sh shop.Shop) {
	t.Helper()
	sh.InvoiceYears = 2
	if err := l.Store.SaveShop(t.Context(), sh, l.Actor(l.Owner), webtest.Now); err != nil {
		t.Fatal(err)
	}
}
