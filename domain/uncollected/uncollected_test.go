package uncollected_test

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"ledgerwheel/domain/uncollected"
)

func day(t testing.TB, s string) time.Time {
	t.Helper()
	d, err := time.Parse(time.DateOnly, s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// The numbers of each law, as they were read in the sources named; "memory" marks what was read nowhere. They are a starting
// point for the owner, not law.
func TestProfilesAgainstTheirSources(t *testing.T) {
	t.Parallel()
	months := func(n int) uncollected.Span { return uncollected.Span{Months: n} }
	days := func(n int) uncollected.Span { return uncollected.Span{Days: n} }
	for _, c := range []struct {
		key                  uncollected.Key
		wait, notice, unowed uncollected.Span
		onlyOwed             bool
		form                 string
		source               string // words of it
		memory               string
	}{
		// Torts (Interference with Goods) Act 1977 s.12-13, Sch.1: from ready; registered or recorded; at least 3 months if money
		// is owed, else a reasonable time; no notice while the bill is disputed (para. 7: memory).
		{uncollected.UK, months(0), months(3), months(0), false, "registered post or recorded delivery", "Torts (Interference with Goods) Act 1977", "disputed"},
		// BGB 647, 1257, 1234: lien, 1 month; no wait fixed (memory).
		{uncollected.Germany, months(0), months(1), months(0), true, "prove", "BGB sections 647, 1257 and 1234", "no time is fixed"},
		// Loi du 31.12.1903: 1 year; court order, auction; owner told 8 days ahead by registered letter.
		{uncollected.France, months(12), days(8), days(8), false, "registered", "31 décembre 1903", ""},
		// Connecticut 49-60: more than 6 months unpaid; 30 days, registered.
		{uncollected.Connecticut, months(6), days(30), months(0), true, "registered", "49-60", ""},
		// New Hampshire RSA 451: 90 days unpaid; 30 days, certified.
		{uncollected.NewHampshire, days(90), days(30), months(0), true, "certified", "RSA chapter 451", ""},
		// Georgia 44-14-430: 1 year; 30 days.
		{uncollected.Georgia, months(12), days(30), days(30), false, "", "44-14-430", ""},
	} {
		p, ok := uncollected.ProfileOf(c.key)
		if !ok || p.Wait != c.wait || p.Notice != c.notice || p.Unowed != c.unowed || p.OnlyOwed != c.onlyOwed ||
			!strings.Contains(p.Form, c.form) || !strings.Contains(p.Source, c.source) || !strings.Contains(p.Memory, c.memory) ||
			(p.Memory == "") != (c.memory == "") {
			t.Errorf("%s: %+v", c.key, p)
		}
		if bad := p.Tidied().Problems(); len(bad) > 0 {
			t.Errorf("%s can't be confirmed: %v", c.key, bad)
		}
	}
	if got, want := len(uncollected.Profiles()), 6; got != want {
		t.Errorf("%d profiles, %d held against their sources", got, want)
	}
	if p, _ := uncollected.ProfileOf(uncollected.Connecticut); p.ThirdOfValueOver != 10000 || p.Currency != "USD" {
		t.Errorf("Connecticut: over %d %s", p.ThirdOfValueOver, p.Currency) // 49-60: value over $100, charges a third of it
	}
}

// BGB 188(3): where the last month has no such day, the time ends with its last day.
func TestSpanEndsOnTheLastDayOfAShortMonth(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		from string
		span uncollected.Span
		want string
	}{
		{"2026-01-31", uncollected.Span{Months: 1}, "2026-02-28"},
		{"2028-01-31", uncollected.Span{Months: 1}, "2028-02-29"},
		{"2026-11-30", uncollected.Span{Months: 3}, "2027-02-28"},
		{"2026-08-31", uncollected.Span{Months: 6}, "2027-02-28"},
		{"2028-02-29", uncollected.Span{Months: 12}, "2029-02-28"},
		{"2026-12-15", uncollected.Span{Months: 1, Days: 20}, "2027-02-04"},
		{"2026-10-20", uncollected.Span{Days: 30}, "2026-11-19"},
		{"2026-10-20", uncollected.Span{}, "2026-10-20"},
	} {
		if got := c.span.After(day(t, c.from)).Format(time.DateOnly); got != c.want {
			t.Errorf("%s and %s: %s, want %s", c.from, c.span.Words(), got, c.want)
		}
	}
}

// A watch in the United Kingdom from ready to the end of the notice, and what each day says.
func TestTheWayOfOneWatch(t *testing.T) {
	t.Parallel()
	uk, _ := uncollected.ProfileOf(uncollected.UK)
	f := uncollected.Facts{ReadyOn: day(t, "2026-01-10"), OwedMinor: 4800, Currency: "GBP"}
	reminded := uncollected.Notice{Kind: uncollected.CollectNotice, PostedOn: day(t, "2026-02-02")}
	formal := uncollected.Notice{Kind: uncollected.FormalNotice, PostedOn: day(t, "2026-03-31")}
	for _, c := range []struct {
		today   string
		letters []uncollected.Notice
		step    uncollected.Step
		days    int
		next    string
	}{
		{"2026-01-10", nil, uncollected.Waiting, 0, "2026-01-25"},
		{"2026-01-24", nil, uncollected.Waiting, 14, "2026-01-25"},
		{"2026-01-25", nil, uncollected.CollectDue, 15, ""},
		{"2026-02-02", []uncollected.Notice{{Kind: uncollected.CollectNotice}}, uncollected.ToBePosted, 23, ""},
		{"2026-02-03", []uncollected.Notice{reminded}, uncollected.FormalDue, 24, ""},
		{"2026-03-31", []uncollected.Notice{reminded, {Kind: uncollected.FormalNotice}}, uncollected.ToBePosted, 80, ""},
		{"2026-06-30", []uncollected.Notice{reminded, formal}, uncollected.NoticeRuns, 171, "2026-07-01"},
		{"2026-07-01", []uncollected.Notice{reminded, formal}, uncollected.NoticeOver, 172, ""},
	} {
		f := f
		f.Today, f.Notices = day(t, c.today), c.letters
		got := uncollected.Stand(uk, true, f)
		next := ""
		if !got.Next.IsZero() {
			next = got.Next.Format(time.DateOnly)
		}
		if got.Step != c.step || got.Days != c.days || next != c.next {
			t.Errorf("%s: %s after %d days, next %q; want %s after %d, next %q", c.today, got.Step, got.Days, next, c.step, c.days, c.next)
		}
		if got := uncollected.Stand(uncollected.Profile{}, false, f); got.Step != uncollected.Unconfirmed || got.Days != c.days ||
			!got.Next.IsZero() || got.Late() {
			t.Errorf("%s, unconfirmed: %+v", c.today, got)
		}
	}
}

func TestWhatTheLawIsNotAbout(t *testing.T) {
	t.Parallel()
	value := int64(90000)
	facts := uncollected.Facts{ReadyOn: day(t, "2025-01-10"), Today: day(t, "2026-11-30"), Currency: "USD", OwedMinor: 30000, Value: &value,
		Notices: []uncollected.Notice{{Kind: uncollected.CollectNotice, PostedOn: day(t, "2025-02-02")}}}
	for name, c := range map[string]struct {
		key    uncollected.Key
		change func(*uncollected.Facts)
		want   uncollected.Step
	}{
		"a third owed":              {uncollected.Connecticut, func(*uncollected.Facts) {}, uncollected.FormalDue},
		"less than a third":         {uncollected.Connecticut, func(f *uncollected.Facts) { f.OwedMinor = 29999 }, uncollected.OutsideOfLaw},
		"less, of little value":     {uncollected.Connecticut, func(f *uncollected.Facts) { f.OwedMinor, value = 1000, 10000 }, uncollected.FormalDue},
		"nothing owed, Connecticut": {uncollected.Connecticut, func(f *uncollected.Facts) { f.OwedMinor = 0 }, uncollected.OutsideOfLaw},
		"nothing owed, Germany":     {uncollected.Germany, func(f *uncollected.Facts) { f.OwedMinor = 0 }, uncollected.OutsideOfLaw},
		"nothing owed, UK, posted": {uncollected.UK, func(f *uncollected.Facts) {
			f.OwedMinor = 0
			f.Notices = append(f.Notices, uncollected.Notice{Kind: uncollected.FormalNotice, PostedOn: day(t, "2025-03-02")})
		}, uncollected.NoNumberFixed},
		"not reminded": {uncollected.Georgia, func(f *uncollected.Facts) { f.Notices = nil }, uncollected.CollectDue},
		"wait runs":    {uncollected.France, func(f *uncollected.Facts) { f.Today = day(t, "2026-01-10") }, uncollected.Reminded},
	} {
		value = 90000
		f := facts
		f.Notices = facts.Notices[:1:1]
		c.change(&f)
		p, _ := uncollected.ProfileOf(c.key)
		if got := uncollected.Stand(p, true, f); got.Step != c.want {
			t.Errorf("%s: %s, want %s", name, got.Step, c.want)
		}
	}
}

// Whatever the profile and the days: a block ends every conclusion, nothing is concluded unconfirmed, no sentence says what
// may be done with the watch, and the day that is named as the next is one on which something is different.
func TestStandingNeverDecides(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SampledFrom(uncollected.Profiles()).Draw(t, "profile")
		ready := time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, rapid.IntRange(0, 400).Draw(t, "ready"))
		f := uncollected.Facts{ReadyOn: ready, Today: ready.AddDate(0, 0, rapid.IntRange(0, 900).Draw(t, "days")),
			OwedMinor: rapid.SampledFrom([]int64{0, 100, 50000}).Draw(t, "owed"), Currency: "USD"}
		for _, kind := range []uncollected.NoticeKind{uncollected.CollectNotice, uncollected.FormalNotice} {
			if rapid.Bool().Draw(t, string(kind)) {
				f.Notices = append(f.Notices, uncollected.Notice{Kind: kind, PostedOn: ready.AddDate(0, 0, rapid.IntRange(0, 500).Draw(t, "posted"))})
			}
		}
		got := uncollected.Stand(p, true, f)
		for _, word := range []string{" sell", " sold", " sale", "may be"} {
			if strings.Contains(strings.ToLower(got.Words), word) {
				t.Fatalf("%s: %q", got.Step, got.Words)
			}
		}
		if !got.Next.IsZero() {
			then := f
			then.Today = got.Next
			if !got.Next.After(f.Today) || uncollected.Stand(p, true, then).Step == got.Step {
				t.Fatalf("%s names %s, on which nothing is different", got.Step, got.Next.Format(time.DateOnly))
			}
		}
		f.Blocks = []uncollected.BlockKind{rapid.SampledFrom(append(uncollected.BlockKinds(), uncollected.Listed)).Draw(t, "block")}
		if got := uncollected.Stand(p, true, f); got.Step != uncollected.StepBlocked || !got.Next.IsZero() || got.Late() {
			t.Fatalf("blocked by %s: %+v", f.Blocks[0], got)
		}
	})
}
