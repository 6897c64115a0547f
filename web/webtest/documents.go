package webtest

import (
	"fmt"
	"net/http"
	"reflect"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/link"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/visit"
)

// otherTexts are settings that not every text will do for.
var otherTexts = map[string]string{"TimeZone": "Pacific/Auckland", "Locale": "de-CH", "PhoneRegion": "NZ",
	"Currency": "JPY", "CertifiedTill": "asked", "TaxNumber": "CHE-100.155.212 MWST", "SecondFactor": "owners", "Logo": strings.Repeat("0", 64) + "-1x1"}

// OtherShop returns settings that may be saved and of which none is as in sh. It walks the fields, so that a setting
// added later is changed like the rest.
func OtherShop(t testing.TB, sh shop.Shop) shop.Shop {
	t.Helper()
	other := sh
	v, was := reflect.ValueOf(&other).Elem(), reflect.ValueOf(sh)
	for i := range v.NumField() {
		name, field := v.Type().Field(i).Name, v.Field(i)
		switch field.Kind() {
		case reflect.String:
			text := otherTexts[name]
			if text == "" {
				text = strings.TrimSpace(field.String() + "\nOther " + name)
				if name == "Name" || !strings.Contains(field.String(), "\n") {
					text = strings.TrimSpace("Other " + name + " " + field.String())
				}
			}
			field.Set(reflect.ValueOf(text).Convert(field.Type()))
		case reflect.Int, reflect.Int64:
			field.SetInt(field.Int() + 3)
		case reflect.Float64:
			field.SetFloat(field.Float() + 3)
			if name == "RulerMM" {
				field.SetFloat(97.5)
			}
		case reflect.Bool:
			field.SetBool(!field.Bool())
		case reflect.Array: // the hours
			field.Set(reflect.ValueOf(shop.Hours{{{FromMin: 1, ToMin: 2}}}))
		case reflect.Slice:
			field.SetBytes(append([]byte("other"), field.Bytes()...))
		default:
			t.Fatalf("setting %s: say how a %s is changed", name, field.Kind())
		}
		if reflect.DeepEqual(field.Interface(), was.Field(i).Interface()) {
			t.Fatalf("setting %s is not changed", name)
		}
	}
	if bad := other.Problems(); len(bad) > 0 {
		t.Fatalf("the other settings can't be saved: %v", bad)
	}
	return other
}

// ChangeEverySetting saves other settings, publishes other rate limits in every grade and takes another signing key.
func (s *Site) ChangeEverySetting() {
	s.T.Helper()
	ctx, by, at := s.T.Context(), s.Actor(s.Owner), s.Clock()
	sh, err := s.Store.Shop(ctx)
	if err != nil {
		s.T.Fatal(err)
	}
	if err := s.Store.SaveLogo(ctx, OtherShop(s.T, sh), Logo(s.T), by, at); err != nil {
		s.T.Fatal(err)
	}
	grades, err := s.Store.NewestLimits(ctx)
	if err != nil {
		s.T.Fatal(err)
	}
	for _, g := range grades {
		next := g.Limits
		next.Version++
		next.Name = "Other " + next.Name
		next.Limits = next.Limits[:1]
		if err := s.Store.PublishLimits(ctx, next, by, at); err != nil {
			s.T.Fatal(err)
		}
	}
	keys, err := s.Store.SigningKeys(ctx)
	if err != nil {
		s.T.Fatal(err)
	}
	if len(keys) > 0 {
		if _, err := s.Store.RotateKey(ctx, keys[0].ID, by, at); err != nil {
			s.T.Fatal(err)
		}
	}
}

// Documents are what was said of dockets, by address: each paper there is of them, as its page prints it and as PDF,
// drafts apart; estimates as their sheet and the customer's page show them; cards as their page and their check do.
type Documents map[string]string

// Documents reads those of the dockets. A route of a paper whose address it can't fill fails the test.
func (s *Site) Documents(numbers ...docket.Number) Documents {
	s.T.Helper()
	read := reader{site: s, who: s.As(s.Owner), found: Documents{}}
	for _, n := range numbers {
		read.docket(n)
	}
	return read.found
}

type reader struct {
	site  *Site
	who   *Client
	found Documents
}

func (r reader) docket(n docket.Number) {
	s := r.site
	s.T.Helper()
	ctx := s.T.Context()
	prices, err := s.Store.EstimateSheet(ctx, n)
	if err != nil {
		s.T.Fatal(err)
	}
	trials, err := s.Store.TrialSheet(ctx, n, 0)
	if err != nil {
		s.T.Fatal(err)
	}
	cards, err := s.Store.CardSheet(ctx, n)
	if err != nil {
		s.T.Fatal(err)
	}
	bill, err := s.Store.HandOverSheet(ctx, n)
	if err != nil {
		s.T.Fatal(err)
	}
	told, err := s.Store.ToldSheet(ctx, n)
	if err != nil {
		s.T.Fatal(err)
	}
	for _, route := range s.Srv.Routes() {
		pattern := strings.ReplaceAll(route.Pattern, "{number}", n.String())
		switch {
		case !strings.Contains(pattern, "/papers/"), strings.Contains(pattern, "/papers/invoice") && bill.Draft:
		case strings.Contains(pattern, "{revision}"):
			for _, rev := range prices.Estimate.Revisions {
				r.paper(strings.ReplaceAll(pattern, "{revision}", fmt.Sprint(rev.Number)))
			}
		case strings.Contains(pattern, "/papers/letter/"):
			for _, m := range told.Messages {
				if m.Way == message.Letter {
					r.paper(strings.ReplaceAll(pattern, "{id}", fmt.Sprint(m.ID)))
				}
			}
		case strings.Contains(pattern, "/papers/invoices/"):
			for _, d := range bill.Invoices {
				r.paper(strings.ReplaceAll(pattern, "{id}", fmt.Sprint(d.ID)))
			}
		case strings.HasPrefix(pattern, "/visits/"):
			if len(bill.Beside) > 0 { // else it leads to the docket's own
				r.paper(strings.ReplaceAll(pattern, "{visit}", visit.Number(bill.Head.VisitID).String()))
			}
		case strings.Contains(pattern, "{"):
			s.T.Errorf("say what stands in the address of the paper %s", route.Pattern)
		case strings.Contains(pattern, "/papers/trial"):
			for _, t := range trials.Trials {
				r.paper(pattern + "?trial=" + Itoa(t.ID))
			}
		default:
			r.paper(pattern)
		}
	}
	r.estimate(n, prices.Estimate, prices.Link.ID)
	for _, c := range cards.Cards {
		r.parts(s.Stranger(), "/w/"+string(c.Code), "main")
		if c.Live() {
			r.parts(r.who, "/dockets/"+n.String()+"/card", "card-faces")
		}
	}
}

// estimate reads the revision that the sheet and the customer's page show, once one was sent.
func (r reader) estimate(n docket.Number, e estimate.Estimate, linkID int64) {
	r.site.T.Helper()
	shown, ok := e.Shown()
	if !ok || shown.State == estimate.Draft {
		return
	}
	if _, draft := e.OpenDraft(); !draft {
		r.parts(r.who, "/dockets/"+n.String()+"/estimate", "lines", "totals", "answer")
	}
	if linkID != 0 {
		r.parts(r.site.Stranger(), r.site.LinkPath(n.String()), "estimate")
	}
}

// LinkPath is the path of the docket's private link.
func (s *Site) LinkPath(number string) string {
	s.T.Helper()
	sheet, err := s.Store.EstimateSheet(s.T.Context(), s.Number(number))
	if err != nil {
		s.T.Fatal(err)
	}
	sh, err := s.Store.Shop(s.T.Context())
	if err != nil {
		s.T.Fatal(err)
	}
	return "/c/" + link.Token(sh.LinkSecret, sheet.Link.ID)
}

// paper reads a paper if there is one: the PDF whole, the page without what stands around the paper.
func (r reader) paper(path string) {
	r.site.T.Helper()
	switch a := r.who.Get(path); {
	case a.Status == http.StatusNotFound:
	case strings.Contains(path, ".pdf"):
		r.found[path] = a.Want(http.StatusOK).Body
	default:
		r.found[path] = a.Want(http.StatusOK).marked("id", "main")
	}
}

// parts reads of a page what has one of the ids by which tests find it; "main" is all but the frame.
func (r reader) parts(who *Client, path string, testIDs ...string) {
	r.site.T.Helper()
	a := who.Get(path)
	if a.Status == http.StatusGone { // a private link that was ended
		return
	}
	a.Want(http.StatusOK)
	for _, id := range testIDs {
		key := "data-testid"
		if id == "main" {
			key = "id"
		}
		r.found[path] += a.marked(key, id)
	}
	if r.found[path] == "" {
		r.site.T.Errorf("%s shows none of %v", path, testIDs)
	}
}

// marked writes out the elements that have an attribute of this value.
func (a *Answer) marked(key, value string) string {
	a.T.Helper()
	var b strings.Builder
	for n := range a.Document.Descendants() {
		if n.Type == html.ElementNode && Attr(n, key) == value {
			if err := html.Render(&b, n); err != nil {
				a.T.Fatal(err)
			}
		}
	}
	return b.String()
}

// Has reports whether there is a document at an address that begins so.
func (was Documents) Has(address string) bool {
	for path := range was {
		if strings.HasPrefix(path, address) {
			return true
		}
	}
	return false
}

// Kept fails the test for every document that is not as it was.
func (was Documents) Kept(t testing.TB, now Documents) {
	t.Helper()
	for path, said := range was {
		if now[path] != said {
			t.Errorf("%s changed%s", path, firstChange(said, now[path]))
		}
	}
	for path := range now {
		if _, there := was[path]; !there {
			t.Errorf("%s was not there before", path)
		}
	}
}

// firstChange shows where two texts begin to differ.
func firstChange(was, now string) string {
	i := 0
	for i < len(was) && i < len(now) && was[i] == now[i] {
		i++
	}
	cut := func(s string) string { return s[max(0, min(len(s), i)-60):min(len(s), i+60)] }
	return fmt.Sprintf(" from %q to %q", cut(was), cut(now))
}
