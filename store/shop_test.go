package store_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/trial"
	"ledgerwheel/store"
)

func (c *counter) versions(t *testing.T) int {
	t.Helper()
	var n int
	if err := c.Pool().QueryRow(t.Context(), `SELECT count(*) FROM shop_version`).Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n
}

// saves changes the settings of the shop.
func (c *counter) saves(t *testing.T, change func(*shop.Shop)) {
	t.Helper()
	change(&c.shop)
	if err := c.SaveShop(t.Context(), c.shop, c.clerk, c.at); err != nil {
		t.Fatal(err)
	}
}

func TestSettingsAreKeptAsTheyStood(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	if n := c.versions(t); n != 1 {
		t.Fatalf("a shop that was founded has %d versions", n)
	}
	founded := c.at
	c.at = c.at.AddDate(0, 1, 0)
	c.saves(t, func(s *shop.Shop) { s.LinkSecret = make([]byte, 64) })
	if n := c.versions(t); n != 1 {
		t.Errorf("settings saved as they stood make version %d", n)
	}
	if v, err := c.NewestShop(t.Context()); err != nil || !v.MadeAt.Equal(founded) || len(v.LinkSecret) != 32 {
		t.Errorf("founded at %s, %v; the secret has %d bytes", v.MadeAt, err, len(v.LinkSecret))
	}
	c.saves(t, func(s *shop.Shop) { s.Name, s.SimpleAcceptance = "Lobscouse & Daughter", true })
	v, err := c.NewestShop(t.Context())
	if err != nil || v.Name != "Lobscouse & Daughter" || !v.SimpleAcceptance || !v.MadeAt.Equal(c.at) ||
		v.MadeBy != "Nuala Reed" {
		t.Errorf("newest %+v, %v", v, err)
	}
	for _, forbidden := range []string{`UPDATE shop_version SET name = 'Other'`, `DELETE FROM shop_version`,
		`TRUNCATE shop_version CASCADE`} {
		if _, err := c.Pool().Exec(t.Context(), forbidden); err == nil || !strings.Contains(err.Error(), "as they stood") {
			t.Errorf("%s: %v", forbidden, err)
		}
	}
}

// TestEverySettingIsKeptWithItsVersion: a setting added to the shop's row alone would change what was said.
func TestEverySettingIsKeptWithItsVersion(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	columns := func(table string, without ...string) []string {
		rows, _ := c.Pool().Query(t.Context(), `SELECT column_name || ' ' || data_type FROM information_schema.columns
			WHERE table_name = $1 AND column_name <> ALL($2) ORDER BY 1`, table, without)
		list, err := pgx.CollectRows(rows, pgx.RowTo[string])
		if err != nil || len(list) == 0 {
			t.Fatal(list, err)
		}
		return list
	}
	today := columns("shop", "id", "created_at", "link_secret")
	if kept := columns("shop_version", "id", "made_at", "made_by"); !slices.Equal(kept, today) {
		t.Errorf("kept are\n%v\nof\n%v", kept, today)
	}
}

// The term that was signed counts, whatever the settings say since; without a card, that of the day it left.
func TestComebackRunsAsSigned(t *testing.T) {
	t.Parallel()
	b := ready(t)
	b.finalRun(t, 3, -1, 2, 4, 0, 4)
	b.mustIssue(t) // for 24 months
	b.close(t, b.n, docket.StageHandedOver, b.at)
	var left int64
	if err := b.Pool().QueryRow(t.Context(), `UPDATE docket SET left_under = (SELECT max(id) FROM shop_version)
		WHERE number = $1 RETURNING left_under`, b.n.String()).Scan(&left); err != nil {
		t.Fatal(err)
	}
	b.saves(t, func(s *shop.Shop) { s.WarrantyMonths = 1 })
	h := b.head(t)
	back := func(months int) error {
		in := b.takingIn()
		in.CustomerID, in.WatchID, in.Intake.WarrantyOf = h.Customer.ID, h.Watch.ID, h.Docket.ID
		in.At = b.at.AddDate(0, months, 0)
		help, err := b.IntakeHelp(t.Context(), store.IntakeQuestion{WatchID: h.Watch.ID})
		if err != nil {
			t.Fatal(err)
		}
		offered := false
		for _, seen := range help.Watches {
			for _, d := range seen.Dockets {
				offered = offered || d.ID == h.Docket.ID && d.Promise.MayComeBack(in.ReceivedOn())
			}
		}
		n, err := b.TakeIn(t.Context(), in)
		if offered != (err == nil) {
			t.Errorf("after %d months offered: %v, taken: %v", months, offered, err)
		}
		if err == nil {
			b.close(t, n, docket.StageWithdrawn, in.At)
		}
		return err
	}
	if err := back(23); err != nil {
		t.Errorf("within what was signed: %v", err)
	}
	if err := back(25); problemsOf(t, err)["warranty_of"] == "" {
		t.Errorf("beyond it: %v", err)
	}
	h = b.head(t)
	if err := b.VoidCard(t.Context(), b.change(t, b.owner), "Sold to another."); err != nil {
		t.Fatal(err)
	}
	if err := back(1); problemsOf(t, err)["warranty_of"] == "" {
		t.Errorf("the card is void: %v", err)
	}
	uncarded, sheet := b.mustTakeIn(t, func() store.TakingIn {
		in := b.takingIn()
		in.NewCustomer, in.NewWatch = true, true
		return in
	}())
	b.close(t, uncarded, docket.StageHandedOver, b.at)
	if _, err := b.Pool().Exec(t.Context(), `UPDATE docket SET left_under = $2 WHERE number = $1`, uncarded.String(),
		left); err != nil {
		t.Fatal(err)
	}
	h = sheet.Head
	if err := back(11); err != nil { // the shop gave twelve when it left
		t.Errorf("without a card: %v", err)
	}
}

// A trial goes by the clock and is judged by the rule of its first day.
func TestTrialKeepsItsClockAndRule(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	p := b.trialPlan(15)
	id := b.begins(t, p)
	b.at = b.at.Truncate(24 * time.Hour).Add(21 * time.Hour) // evening in Zurich, the next day in Auckland
	b.saves(t, func(s *shop.Shop) {
		s.TimeZone, s.SimpleAcceptance, s.Name = "Pacific/Auckland", true, "Other Name"
	})
	for day := 1; day <= chronometer.Days; day++ {
		e := dayOf(p, day, 2)
		if day <= 10 {
			e.Rate = &timing.Figure{Value: 5.99, Step: 0.5} // the mean keeps its limit of +6 by less than its uncertainty
		}
		b.notes(t, id, store.TrialNote{Entry: e})
	}
	today, err := b.Today(t.Context())
	open := today.Open
	if err != nil || len(open) != 1 || open[0].Trial == nil {
		t.Fatalf("%+v, %v", open, err)
	}
	if due := open[0].Trial.NeedsAt(b.at).DueOn; due != 15 {
		t.Errorf("day %d is due", due)
	}
	running := b.trials(t).Shown
	if running.TimeZone != "Europe/Zurich" || running.Rule() != metrology.Guarded ||
		running.Shop.TimeZone != "Europe/Zurich" || running.Shop.SimpleAcceptance ||
		running.Shop.Name != "Tern Quay Watch Works" {
		t.Errorf("while it runs: %+v", running)
	}
	verdict, err := b.EndTrial(t.Context(), b.next(), id)
	if err != nil {
		t.Fatal(err)
	}
	if verdict == metrology.Pass {
		t.Error("it was judged by the rule that the shop has now")
	}
	b.saves(t, func(s *shop.Shop) { s.Name, s.TimeZone = "Third Name", "UTC" })
	ended := b.trials(t).Shown
	if ended.State != trial.Ended || ended.Shop.Name != "Other Name" || ended.Shop.TimeZone != "Europe/Zurich" ||
		ended.Rule() != metrology.Guarded {
		t.Errorf("once it is ended: %+v", ended)
	}
}
