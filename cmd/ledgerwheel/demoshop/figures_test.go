package demoshop

import (
	"math"
	"net/mail"
	"reflect"
	"regexp"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// TestPoise holds the effect of a heavy spot against published figures.
func TestPoise(t *testing.T) {
	t.Parallel()
	// J1(A)/A by scipy.special.jv, to six decimals.
	for deg, want := range map[float64]float64{120: 0.271615, 150: 0.177911, 180: 0.090596, 200: 0.040478, 210: 0.018627} {
		if got := -poiseSPerDay(1, deg, 0) / secondsPerDay; math.Abs(got-want) > 5e-7 {
			t.Errorf("J1(A)/A at %g degrees is %.7f, want %g", deg, got, want)
		}
	}
	// The first zero of J1 is 3.831706 (Abramowitz and Stegun, table 9.5): 219.541 degrees.
	if got := poiseSPerDay(0.01, 3.831706*180/math.Pi, 0); math.Abs(got) > 1e-3 {
		t.Errorf("at the first zero the heavy spot changes the rate by %g s/d", got)
	}
	// W. J. Kleinlein, Rules and Practice for Adjusting Watches (1920), section 28: a heavy spot on the lower side loses
	// at one and a half turns of swing, gains at one; on the upper side the other way.
	for _, tt := range []struct {
		deg, fromTop float64
		gains        bool
	}{{270, 180, false}, {180, 180, true}, {270, 0, true}, {180, 0, false}} {
		if got := poiseSPerDay(0.005, tt.deg, tt.fromTop); got > 0 != tt.gains {
			t.Errorf("heavy spot %g degrees from the top at %g degrees of amplitude: %+.1f s/d", tt.fromTop, tt.deg, got)
		}
	}
}

// TestReadings: figures as a bench instrument shows them, the same every time, and none that the record would refuse.
func TestReadings(t *testing.T) {
	t.Parallel()
	good := sound(pellAuto)
	for name, s := range map[string]swing{"sound": good, "dirty": good.dirty(), "magnetised": good.magnetised(),
		"knocking": good.knocking(),
		"poise":    good.heavyAt(7, 0.009), "beat": good.outOfBeat(6), "pivots": good.wornPivots(), "pins": good.openPins()} {
		readings := s.readings(name, bothDays...)
		if !reflect.DeepEqual(readings, s.readings(name, bothDays...)) {
			t.Errorf("%s: the figures differ from one time to the next", name)
		}
		for _, r := range readings {
			if bad := r.Problems(); len(bad) > 0 {
				t.Errorf("%s: %v", name, bad)
			}
		}
	}
	for x, want := range map[float64]string{3.44: "+3.4", -0.04: "0.0", 12.05: "+12.1"} {
		if got := shown(x, rateStep).InputText(timing.Rate); got != want {
			t.Errorf("%g is shown as %s, want %s", x, got, want)
		}
	}
}

// TestTroubles: each trouble shows in the figures by which a watchmaker knows it (common practice).
func TestTroubles(t *testing.T) {
	t.Parallel()
	good := sound(pellAuto)
	stats := func(s swing) timing.Statistics {
		run := timing.Run{Kind: timing.AsReceived, CrownHour: timing.CrownAtThree, Readings: s.readings("trouble",
			bothDays...)}
		return timing.StatisticsOf(run, timing.Options{})
	}
	full := func(s swing) timing.StateStatistics { state, _ := stats(s).At(0); return state }
	for what, so := range map[string]bool{
		"poise parts the hanging rates":      full(good.swinging(279).heavyAt(7, 0.0088)).VerticalDelta.Value.Value > 25,
		"poise leaves the lying ones":        full(good.swinging(279).heavyAt(7, 0.0088)).HorizontalDelta.Value.Value < 5,
		"dirt takes amplitude":               full(good.dirty()).LeastHorizontalAmplitude.Value.Value < 240,
		"beat error shows as such":           full(good.outOfBeat(5.6)).GreatestBeatError.Value.Value > 4,
		"magnetism gains minutes":            full(good.magnetised()).Mean.Value.Value > 120,
		"and no two positions agree":         full(good.magnetised()).Delta.Value.Value > 60,
		"knocking is amplitude over 330":     full(good.knocking()).GreatestAmplitude.Value.Value > 330,
		"and gains lying":                    full(good.knocking()).HorizontalLessVertical.Value.Value > 60,
		"worn pivots lose hanging":           full(good.wornPivots()).HorizontalLessVertical.Value.Value > 15,
		"open pins part the day's two rates": math.Abs(stats(good.openPins()).Isochronism.Value.Value) > 15,
	} {
		if !so {
			t.Errorf("not so: %s", what)
		}
	}
}

// TestSoundPasses: a watch after careful service passes the limits of its grade.
func TestSoundPasses(t *testing.T) {
	t.Parallel()
	for _, limits := range timing.ShippedGrades() {
		run := timing.Run{Kind: timing.Final, CrownHour: timing.CrownAtThree,
			Readings: soundByGrade[limits.Grade].readings(limits.Grade, bothDays...)}
		known := timing.Instruments{OtherClockStdSPerDay: timing.ClockStdSPerDay(ternQuay().InstrumentPPM)}
		if j := timing.Judge(run, limits, metrology.Guarded, known); j.Verdict != metrology.Pass {
			t.Error(j.Text)
		}
	}
}

// dramaNumbers are the ranges that the regulator of the United Kingdom recommends for drama: 01632 960000-960999, 07700
// 900000-900999 and 020 7946 0000-0999 (Ofcom, Telephone numbers for use in TV and radio drama programmes, from
// memory).
var dramaNumbers = regexp.MustCompile(`^\+44(1632960\d{3}|7700900\d{3}|2079460\d{3})$`)

func TestCustomersAreNobody(t *testing.T) {
	t.Parallel()
	seen := map[string]string{}
	for key, c := range customers {
		c = c.Tidied("GB")
		if bad := c.Problems(); len(bad) > 0 {
			t.Errorf("%s: %v", key, bad)
		}
		if !dramaNumbers.MatchString(c.PhoneE164) {
			t.Errorf("%s: %s may be somebody's number", key, c.PhoneE164)
		}
		if c.Email != "" {
			a, err := mail.ParseAddress(c.Email)
			if err != nil || !strings.HasSuffix(a.Address, ".example") { // reserved by RFC 2606
				t.Errorf("%s: %s may be somebody's address", key, c.Email)
			}
		}
		if other := seen[c.PhoneE164]; other != "" {
			t.Errorf("%s and %s share a number", key, other)
		}
		seen[c.PhoneE164] = key
	}
	for a := range customers {
		for b := range customers {
			if a < b && len(customer.Likeness(customers[a].Tidied("GB"), customers[b].Tidied("GB"))) > 0 {
				t.Errorf("%s and %s look like one person", a, b)
			}
		}
	}
	if sh := ternQuay(); len(sh.Problems()) > 0 {
		t.Errorf("the shop: %v", sh.Problems())
	}
	for _, k := range calibres {
		if bad := k.Problems(); len(bad) > 0 {
			t.Errorf("calibre %s: %v", k.Name, bad)
		}
	}
	for _, l := range listed {
		// the day is set when it is kept
		if bad := l.entry.Tidied().Problems(testNow); len(bad) != 1 || bad["reported"] == "" {
			t.Errorf("watch list, %s: %v", l.entry.Serial, bad)
		}
	}
}

// TestCalendar: no working day is a Sunday, days count without gaps, and a calendar is found again from its first day.
func TestCalendar(t *testing.T) {
	t.Parallel()
	zone := ternQuay().Location()
	for day := range 800 {
		now := time.Date(2026, 1, 1, 23, 30, 0, 0, time.UTC).AddDate(0, 0, day) // in summer past midnight in the shop
		c := calendarBefore(now, zone)
		if !c.at(1, "23:59").Before(now) {
			t.Fatalf("filled at %s, the last working day is not over", now)
		}
		for _, back := range []int{1, 2, 6, 7, 40, firstBack, openedBack} {
			if c.day(back).Weekday() == time.Sunday {
				t.Fatalf("%d working days before %s is a Sunday", back, now)
			}
			if back > 1 && !c.day(back).Before(c.day(back-1)) {
				t.Fatalf("day %d before %s", back, now)
			}
		}
		if again := calendarFrom(c.at(firstBack, "10:12"), firstBack, zone); again != c {
			t.Fatalf("from the first day of %s: last day %s, want %s", now, again.last, c.last)
		}
	}
}

// TestStoriesInOrder: the first docket is the one that dates the calendar, and no two steps of a docket share a moment.
func TestStoriesInOrder(t *testing.T) {
	t.Parallel()
	c := calendarBefore(testNow, ternQuay().Location())
	steps := stories(c)
	if first := steps[0]; first.job.intake.back != firstBack || first.job.number.Seq != 1 {
		t.Errorf("the first step is of %s, docket %s", first.job.key, first.job.number)
	}
	last := map[*job]time.Time{}
	keys := map[string]bool{}
	for _, s := range steps {
		if !s.at.After(last[s.job]) {
			t.Errorf("%s: two steps at %s", s.job.key, s.at)
		}
		last[s.job] = s.at
		local := s.at.In(c.zone)
		if s.by != "" && (local.Hour() < 8 || local.Hour() > 18 || local.Weekday() == time.Sunday && !s.daily) {
			t.Errorf("%s: somebody works at %s", s.job.key, local.Format("Mon 15:04"))
		}
	}
	for j := range last {
		if keys[j.key] {
			t.Errorf("two jobs are called %s", j.key)
		}
		keys[j.key] = true
	}
}
