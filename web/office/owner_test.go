package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
)

func settingsTyped() url.Values {
	return url.Values{"name": {"Tern Quay Watch Works"}, "address": {"1 Quay\nSaltby"}, "time_zone": {"Europe/Zurich"}, "locale": {"de-CH"},
		"phone_region": {"ch"}, "currency": {"chf"}, "tax_name": {"VAT"}, "tax_rate": {"8,1"}, "prices_include_tax": {"yes"},
		"decision_rule": {"simple"}, "instrument": {"bench timer"}, "instrument_ppm": {"2,5"}, "warranty_months": {"24"}, "estimate_days": {"30"}}
}

func TestSettings(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	c := s.as(s.owner)
	before, err := s.store.Shop(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	c.post("/settings", settingsTyped()).want(http.StatusSeeOther)
	a := c.get("/settings").want(http.StatusOK)
	for field, want := range map[string]string{"tax_rate": "8.1", "instrument_ppm": "2.5", "currency": "CHF", "address": "1 Quay\nSaltby"} {
		if got := a.value(field); strings.TrimSpace(got) != want {
			t.Errorf("%s: got %q, want %q", field, got, want)
		}
	}
	after, err := s.store.Shop(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if !after.SimpleAcceptance || after.TaxBasisPoints != 810 || string(after.LinkSecret) != string(before.LinkSecret) {
		t.Errorf("saved %+v", after)
	}

	typed := settingsTyped()
	typed.Set("tax_rate", "much")
	typed.Set("estimate_days", "soon")
	a = c.post("/settings", typed).want(http.StatusUnprocessableEntity)
	if a.problem("tax_rate") == "" || a.problem("estimate_days") == "" || a.value("tax_rate") != "much" {
		t.Errorf("refusal: %q, %q, kept %q", a.problem("tax_rate"), a.problem("estimate_days"), a.value("tax_rate"))
	}
}

func TestWatchListIsKeptByTheOwner(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	c := s.as(s.owner)
	a := c.post("/watch-list", url.Values{"serial": {"7"}, "reported": {"2027-03-01"}}).want(http.StatusUnprocessableEntity)
	for _, field := range []string{"serial", "reported", "source"} {
		if a.problem(field) == "" {
			t.Errorf("%s: no reason beside the field", field)
		}
	}
	c.post("/watch-list", url.Values{"serial": {"TQ 40-O17"}, "maker": {"Pellow"}, "reported": {"2026-11-02"}, "source": {"Saltby police, 118"}}).want(http.StatusSeeOther)
	a = c.get("/watch-list").want(http.StatusOK)
	row := textOf(a.one("listed"))
	if !strings.Contains(row, "TQ 40-O17") || !strings.Contains(row, "2 Nov 2026") {
		t.Errorf("row says %q", row)
	}
	entries, err := s.store.Listed(t.Context(), 0)
	if err != nil || len(entries) != 1 {
		t.Fatalf("listed: %v, %v", entries, err)
	}
	c.post("/watch-list/"+itoa(entries[0].ID)+"/remove", nil).want(http.StatusSeeOther)
	c.post("/watch-list/"+itoa(entries[0].ID)+"/remove", nil).want(http.StatusNotFound)
	if rows := c.get("/watch-list").all("listed"); len(rows) != 0 {
		t.Errorf("%d entries still shown", len(rows))
	}
}

func TestCalibres(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	c := s.as(s.watchmaker)
	a := c.post("/calibres/new", url.Values{"name": {"TQ 12"}, "beats_per_hour": {"many"}, "lift_angle_deg": {"200"}}).want(http.StatusUnprocessableEntity)
	for _, field := range []string{"beats_per_hour", "lift_angle_deg", "grade"} {
		if a.problem(field) == "" {
			t.Errorf("%s: no reason beside the field", field)
		}
	}
	if got := a.value("beats_per_hour"); got != "many" {
		t.Errorf("typed text kept as %q", got)
	}
	typed := url.Values{"name": {"TQ 12"}, "beats_per_hour": {"28800"}, "lift_angle_deg": {"51,5"}, "power_reserve_hours": {"46"}, "grade": {"modern"}}
	c.post("/calibres/new", typed).want(http.StatusSeeOther)
	if a := c.post("/calibres/new", typed).want(http.StatusUnprocessableEntity); a.problem("name") == "" {
		t.Error("a second calibre of the same name: no reason beside the field")
	}
	list, err := s.store.Calibres(t.Context())
	if err != nil || len(list) != 1 || list[0].LiftAngleDeg != 51.5 {
		t.Fatalf("calibres: %+v, %v", list, err)
	}
	path := "/calibres/" + itoa(list[0].ID)
	typed.Set("version", c.get(path+"/edit").want(http.StatusOK).hidden("version"))
	typed.Set("power_reserve_hours", "50")
	c.post(path, typed).want(http.StatusSeeOther)
	c.post(path, typed).want(http.StatusConflict) // on the version that is no longer the newest
	testBalance(t, c, path, typed)
	s.as(s.clerk).get("/calibres").want(http.StatusOK)
	s.as(s.clerk).get(path).want(http.StatusOK)
	s.as(s.clerk).get(path + "/edit").want(http.StatusForbidden)
}

// testBalance gives a calibre what advice on poise uses, and takes it back.
func testBalance(t *testing.T, c *client, path string, typed url.Values) {
	t.Helper()
	balance := map[string]string{"balance_inertia": "12.5", "balance_diameter": "9,8", "impulse_jewel_hour": "4.5", "stud_radius": "2.1",
		"regulator_step": "8", "screw_count": "four", "screw_first": "0", "screw_radius": "4.4", "screw_mass": "900", "screw_travel": "-0.1"}
	for name, value := range balance {
		typed.Set(name, value)
	}
	typed.Set("version", c.get(path+"/edit").want(http.StatusOK).hidden("version"))
	a := c.post(path, typed).want(http.StatusUnprocessableEntity)
	for _, field := range []string{"screw_count", "screw_travel"} {
		if a.problem(field) == "" || a.value(field) != balance[field] {
			t.Errorf("%s: %q with reason %q", field, a.value(field), a.problem(field))
		}
	}
	typed.Set("screw_count", "4")
	typed.Set("screw_travel", "0.1")
	c.post(path, typed).want(http.StatusSeeOther)
	a = c.get(path + "/edit").want(http.StatusOK)
	for field, want := range map[string]string{"balance_inertia": "12.5", "balance_diameter": "9.8", "screw_first": "0", "screw_count": "4"} {
		if got := a.value(field); got != want {
			t.Errorf("%s is kept as %q, want %q", field, got, want)
		}
	}
	for name := range balance {
		typed.Set(name, "")
	}
	typed.Set("version", a.hidden("version"))
	c.post(path, typed).want(http.StatusSeeOther)
	if a = c.get(path + "/edit").want(http.StatusOK); a.value("balance_inertia") != "" || a.value("screw_first") != "" {
		t.Error("a balance that is taken back is still there")
	}
}
