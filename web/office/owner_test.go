package office_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/web/webtest"
)

func settingsTyped() url.Values {
	return url.Values{"name": {"Tern Quay Watch Works"}, "address": {"1 Quay\nSaltby"}, "time_zone": {"Europe/Zurich"},
		"locale":       {"de-CH"},
		"phone_region": {"ch"}, "currency": {"chf"}, "tax_name": {"VAT"}, "tax_rate": {"8,1"}, "prices_include_tax": {"yes"},
		"decision_rule": {"simple"}, "instrument": {"bench timer"}, "instrument_ppm": {"2,5"}, "warranty_months": {"24"},
		"estimate_days": {"30"}, "idle_minutes": {"720"}, "second_factor": {"nobody"}}
}

func TestSettings(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Owner)
	before, err := s.Store.Shop(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	c.Post("/settings", settingsTyped()).Want(http.StatusSeeOther)
	a := c.Get("/settings").Want(http.StatusOK)
	for field, want := range map[string]string{"tax_rate": "8.1", "instrument_ppm": "2.5", "currency": "CHF",
		"address": "1 Quay\nSaltby"} {
		if got := a.Value(field); strings.TrimSpace(got) != want {
			t.Errorf("%s: got %q, want %q", field, got, want)
		}
	}
	if got := webtest.TextOf(a.Document); !strings.Contains(got, "Saved 24 Nov 2026, 10:30 by Ottilie Brandt.") {
		t.Errorf("who saved them when is not said: %.300s", got)
	}
	after, err := s.Store.Shop(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if !after.SimpleAcceptance || after.TaxBasisPoints != 810 || string(after.LinkSecret) != string(before.LinkSecret) {
		t.Errorf("saved %+v", after)
	}

	typed := settingsTyped()
	typed.Set("tax_rate", "much")
	typed.Set("estimate_days", "soon")
	a = c.Post("/settings", typed).Want(http.StatusUnprocessableEntity)
	if a.Problem("tax_rate") == "" || a.Problem("estimate_days") == "" || a.Value("tax_rate") != "much" {
		t.Errorf("refusal: %q, %q, kept %q", a.Problem("tax_rate"), a.Problem("estimate_days"), a.Value("tax_rate"))
	}
}

// Each text is held against each paper it stands on as soon as it is shown or saved, and the papers are shown with it.
func TestSettingsAreHeldAgainstPapers(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Owner)
	a := c.Get("/settings").Want(http.StatusOK)
	if n := len(a.All("paper-sample")); n != 4 {
		t.Errorf("%d papers shown", n)
	}
	for _, field := range []string{"name", "ticket_terms", "warranty_covers"} {
		if n := len(a.All(field + "-beware")); n != 0 {
			t.Errorf("%s is warned of without need", field)
		}
	}
	typed := settingsTyped()
	typed.Set("name", "時計工房 \U0001F600 Saltby")
	typed.Set("ticket_terms", strings.Repeat("We work up to the limit you agreed and ask before going beyond it. ", 60))
	typed.Set("do", "show")
	a = c.Post("/settings", typed).Want(http.StatusOK)
	if got := a.Text("ticket_terms-beware"); !strings.Contains(got, "the claim ticket takes 3 pages") &&
		!strings.Contains(got, "the claim ticket takes 2 pages") {
		t.Errorf("of the terms it says %q", got)
	}
	if got := a.Text("name-beware"); !strings.Contains(got, "claim ticket, estimate, invoice, warranty card") ||
		!strings.Contains(got, "\U0001F600") {
		t.Errorf("of the name it says %q", got)
	}
	if got := a.Text("paper-samples"); !strings.Contains(got, "Claim ticket, ") || !strings.Contains(got, "Saltby") {
		t.Errorf("the papers shown say %.200q", got)
	}
	if sh, err := s.Store.Shop(t.Context()); err != nil || strings.Contains(sh.Name, "Saltby") {
		t.Errorf("what was only shown is saved: %q, %v", sh.Name, err)
	}
	typed.Del("do")
	c.Post("/settings", typed).Want(http.StatusSeeOther)
	a = c.Get("/settings").Want(http.StatusOK)
	if len(a.All("ticket_terms-beware")) != 1 || len(a.All("name-beware")) != 1 {
		t.Error("after saving it is no longer said what the papers make of it")
	}
}

func TestWatchListIsKeptByTheOwner(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Owner)
	a := c.Post("/watch-list", url.Values{"serial": {"7"},
		"reported": {"2027-03-01"}}).Want(http.StatusUnprocessableEntity)
	for _, field := range []string{"serial", "reported", "source"} {
		if a.Problem(field) == "" {
			t.Errorf("%s: no reason beside the field", field)
		}
	}
	c.Post("/watch-list", url.Values{"serial": {"TQ 40-O17"}, "maker": {"Pellow"}, "reported": {"2026-11-02"},
		"source": {"Saltby police, 118"}}).Want(http.StatusSeeOther)
	a = c.Get("/watch-list").Want(http.StatusOK)
	row := webtest.TextOf(a.One("listed"))
	if !strings.Contains(row, "TQ 40-O17") || !strings.Contains(row, "2 Nov 2026") {
		t.Errorf("row says %q", row)
	}
	again := c.Post("/watch-list", url.Values{"serial": {"tq40o17"}, "reported": {"2026-11-03"},
		"source": {"An insurer"}}).Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "the same serial", again.Problem("serial"), "on the list already", "Saltby police, 118")
	if again.Value("source") != "An insurer" {
		t.Error("what was typed is lost")
	}
	entries, err := s.Store.Listed(t.Context(), 0)
	if err != nil || len(entries) != 1 {
		t.Fatalf("listed: %v, %v", entries, err)
	}
	c.Post("/watch-list/"+webtest.Itoa(entries[0].ID)+"/remove", nil).Want(http.StatusSeeOther)
	c.Post("/watch-list/"+webtest.Itoa(entries[0].ID)+"/remove", nil).Want(http.StatusNotFound)
	if rows := c.Get("/watch-list").All("listed"); len(rows) != 0 {
		t.Errorf("%d entries still shown", len(rows))
	}
}

func TestCalibres(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Watchmaker)
	a := c.Post("/calibres/new", url.Values{"name": {"TQ 12"}, "beats_per_hour": {"many"},
		"lift_angle_deg": {"200"}}).Want(http.StatusUnprocessableEntity)
	for _, field := range []string{"beats_per_hour", "lift_angle_deg", "grade"} {
		if a.Problem(field) == "" {
			t.Errorf("%s: no reason beside the field", field)
		}
	}
	if got := a.Value("beats_per_hour"); got != "many" {
		t.Errorf("typed text kept as %q", got)
	}
	typed := url.Values{"name": {"TQ 12"}, "beats_per_hour": {"28800"}, "lift_angle_deg": {"51,5"},
		"power_reserve_hours": {"46"}, "grade": {"modern"}}
	c.Post("/calibres/new", typed).Want(http.StatusSeeOther)
	if a := c.Post("/calibres/new", typed).Want(http.StatusUnprocessableEntity); a.Problem("name") == "" {
		t.Error("a second calibre of the same name: no reason beside the field")
	}
	list, err := s.Store.Calibres(t.Context())
	if err != nil || len(list) != 1 || list[0].LiftAngleDeg != 51.5 {
		t.Fatalf("calibres: %+v, %v", list, err)
	}
	path := "/calibres/" + webtest.Itoa(list[0].ID)
	typed.Set("version", c.Get(path+"/edit").Want(http.StatusOK).Hidden("version"))
	typed.Set("power_reserve_hours", "50")
	c.Post(path, typed).Want(http.StatusSeeOther)
	c.Post(path, typed).Want(http.StatusConflict) // on the version that is no longer the newest
	testBalance(t, c, path, typed)
	s.As(s.Clerk).Get("/calibres").Want(http.StatusOK)
	s.As(s.Clerk).Get(path).Want(http.StatusOK)
	s.As(s.Clerk).Get(path + "/edit").Want(http.StatusForbidden)
}

// testBalance gives a calibre what advice on poise uses, and takes it back.
func testBalance(t *testing.T, c *webtest.Client, path string, typed url.Values) {
	t.Helper()
	balance := map[string]string{"balance_inertia": "12.5", "balance_diameter": "9,8", "impulse_jewel_hour": "4.5",
		"stud_radius":    "2.1",
		"regulator_step": "8", "screw_count": "four", "screw_first": "0", "screw_radius": "4.4", "screw_mass": "900",
		"screw_travel": "-0.1"}
	for name, value := range balance {
		typed.Set(name, value)
	}
	typed.Set("version", c.Get(path+"/edit").Want(http.StatusOK).Hidden("version"))
	a := c.Post(path, typed).Want(http.StatusUnprocessableEntity)
	for _, field := range []string{"screw_count", "screw_travel"} {
		if a.Problem(field) == "" || a.Value(field) != balance[field] {
			t.Errorf("%s: %q with reason %q", field, a.Value(field), a.Problem(field))
		}
	}
	typed.Set("screw_count", "4")
	typed.Set("screw_travel", "0.1")
	c.Post(path, typed).Want(http.StatusSeeOther)
	a = c.Get(path + "/edit").Want(http.StatusOK)
	for field, want := range map[string]string{"balance_inertia": "12.5", "balance_diameter": "9.8", "screw_first": "0",
		"screw_count": "4"} {
		if got := a.Value(field); got != want {
			t.Errorf("%s is kept as %q, want %q", field, got, want)
		}
	}
	for name := range balance {
		typed.Set(name, "")
	}
	typed.Set("version", a.Hidden("version"))
	c.Post(path, typed).Want(http.StatusSeeOther)
	if a = c.Get(path + "/edit").Want(http.StatusOK); a.Value("balance_inertia") != "" || a.Value("screw_first") != "" {
		t.Error("a balance that is taken back is still there")
	}
}
