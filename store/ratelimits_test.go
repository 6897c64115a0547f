package store_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
)

func TestShippedGradesAreKept(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	for range 2 { // at every start
		if err := c.EnsureRateLimits(t.Context(), c.at); err != nil {
			t.Fatal(err)
		}
	}
	list, err := c.NewestLimits(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]timing.RateLimits{}
	for _, v := range list {
		got[v.Limits.Grade] = v.Limits
		if v.MadeBy != "" || !v.MadeAt.Equal(c.at) {
			t.Errorf("%s made by %q at %s", v.Limits.Grade, v.MadeBy, v.MadeAt)
		}
	}
	for _, want := range timing.ShippedGrades() {
		if diff := cmp.Diff(want, got[want.Grade]); diff != "" {
			t.Error(diff)
		}
	}
	if len(list) != 4 {
		t.Errorf("%d grades", len(list))
	}
}

func TestPublishLimits(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	if err := c.EnsureRateLimits(t.Context(), c.at); err != nil {
		t.Fatal(err)
	}
	next := timing.ShippedGrades()[0]
	next.Version, next.Positions = 2, []timing.Position{timing.DialUp, timing.SixUp}
	next.Limits[1].Limits = metrology.AtMost(8)
	if err := c.PublishLimits(t.Context(), next, c.clerk, c.at); err != nil {
		t.Fatal(err)
	}
	if err := c.PublishLimits(t.Context(), next, c.clerk, c.at); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("published twice: %v", err)
	}
	versions, err := c.GradeLimits(t.Context(), next.Grade)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(next, versions[0].Limits); diff != "" || len(versions) != 2 || versions[0].MadeBy != "Nuala Reed" {
		t.Errorf("versions %d by %q: %s", len(versions), versions[0].MadeBy, diff)
	}
	if diff := cmp.Diff(timing.ShippedGrades()[0], versions[1].Limits); diff != "" {
		t.Errorf("the first version changed: %s", diff)
	}
	if err := c.EnsureRateLimits(t.Context(), c.at); err != nil {
		t.Fatal(err)
	}
	if versions, _ = c.GradeLimits(t.Context(), next.Grade); len(versions) != 2 {
		t.Errorf("%d versions after the next start", len(versions))
	}

	again := next
	again.Version = 3
	if problems := problemsOf(t, c.PublishLimits(t.Context(), again, c.clerk, c.at)); !strings.Contains(problems[""],
		"Nothing differs from version 2") {
		t.Errorf("the same limits again: %v", problems)
	}
	if versions, _ = c.GradeLimits(t.Context(), next.Grade); len(versions) != 2 {
		t.Errorf("%d versions after the same was published again", len(versions))
	}

	bad := next
	bad.Version, bad.Limits = 3, nil
	if problems := problemsOf(t, c.PublishLimits(t.Context(), bad, c.clerk, c.at)); problems["limits"] == "" {
		t.Errorf("problems %v", problems)
	}
	unknown := next
	unknown.Grade, unknown.Version = "perfect", 1
	if err := c.PublishLimits(t.Context(), unknown, c.clerk, c.at); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("a grade that is none: %v", err)
	}
	if _, err := c.GradeLimits(t.Context(), "perfect"); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("a grade that is none: %v", err)
	}
}

// Even a wrong program can't edit what dockets were judged by.
func TestLimitsAreNeverEdited(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	if err := c.EnsureRateLimits(t.Context(), c.at); err != nil {
		t.Fatal(err)
	}
	for _, sql := range []string{`UPDATE rate_limits SET name = 'Kinder'`, `DELETE FROM rate_limits`} {
		if _, err := c.Pool().Exec(t.Context(), sql); err == nil || !strings.Contains(err.Error(), "as it was published") {
			t.Errorf("%s: %v", sql, err)
		}
	}
}

// A grade of the shop's own is named once, and judges like those that came with the program.
func TestAddGrade(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	own := timing.ShippedGrades()[2]
	own.Name, own.Grade = "Pocket watches", ""
	key, err := b.AddGrade(t.Context(), own, b.owner, b.at)
	if err != nil || key != "pocket-watches" {
		t.Fatalf("added as %q, %v", key, err)
	}
	if bad := problemsOf(t, second(b.AddGrade(t.Context(), own, b.owner, b.at))); bad["name"] != timing.GradeNameTaken {
		t.Errorf("twice: %v", bad)
	}
	none := own
	none.Name, none.Limits = "Nothing", nil
	if bad := problemsOf(t, second(b.AddGrade(t.Context(), none, b.owner, b.at))); bad["limits"] == "" {
		t.Errorf("without limits: %v", bad)
	}
	b.record(t, `UPDATE watch SET calibre_id = NULL`)
	id := b.mustRecord(t, store.RunEntry{Sheet: runSheet(timing.Final, 3), Grade: key})
	sheet := b.regulation(t)
	run, _ := sheet.Run(id)
	if v, _ := sheet.LimitsByID(run.RateLimitsID); v.Limits.Name != "Pocket watches" || v.Limits.Version != 1 ||
		v.MadeBy == "" || run.Outcome != docket.Passed {
		t.Errorf("judged by %+v: %s", v, run.Outcome)
	}
}
