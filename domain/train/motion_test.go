package train_test

import (
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/published"
	"ledgerwheel/domain/train"
)

func parseMotion(t published.T, notation string) train.MotionWork {
	t.Helper()
	m, err := train.ParseMotionWork(notation)
	if err != nil {
		t.Fatalf("%s: %v", notation, err)
	}
	return m
}

func TestMotionWorkOfTwelveAndTwentyFourHours(t *testing.T) {
	t.Parallel()
	for notation, hours := range map[string]int{"12:36,10:40": 12, "12:48,10:60": 24, "12:36,10:41": 0, "12:36,?:40": 0} {
		m := parseMotion(t, notation)
		if got := m.DialHours(); got != hours || m.String() != notation {
			t.Errorf("%s (written %s): %d, want %d", notation, m, got, hours)
		}
		if says := m.Remarks(); len(says) > 0 != (notation == "12:36,10:41") {
			t.Errorf("%s: %v", notation, says)
		}
	}
}

// Hands tied 12:1: at half past seven the minute hand stands at 180°, the hour hand at 7.5 · 30° = 225°.
func TestHandsAreTied(t *testing.T) {
	t.Parallel()
	m := parseMotion(t, "12:36,10:40")
	minute, hour, ok := m.Hands(big.NewRat(450, 1))
	if !ok {
		t.Fatal("no hands")
	}
	is(t, "minute hand", minute, 180, 1)
	is(t, "hour hand", hour, 225, 1)
	minute, hour, _ = m.Hands(big.NewRat(-15, 1)) // a quarter to twelve
	is(t, "minute hand before twelve", minute, 270, 1)
	is(t, "hour hand before twelve", hour, 705, 2)
	// 12.3:1 by hand: in 12 turns the hour hand makes 12/12.3 of a turn: 12·60/12.3 h... 0.3/12.3 of 720 min behind.
	slow, _ := parseMotion(t, "12:36,10:41").HourHandErrorMinutes(12, 12)
	is(t, "error of 12.3:1", slow, -720*3, 123)
	exact, _ := m.HourHandErrorMinutes(12, 24)
	is(t, "error of 12:1", exact, 0, 1)
	unknown := parseMotion(t, "12:36,?:40")
	if _, ok := unknown.HourHandErrorMinutes(12, 1); ok {
		t.Error("an error from an unknown count")
	}
	if _, _, ok := unknown.Hands(big.NewRat(1, 1)); ok {
		t.Error("hands from an unknown count")
	}
	if _, ok := unknown.ModuleRatio(); ok {
		t.Error("modules from an unknown count")
	}
}

func TestMotionWorkRefuses(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ notation, field, says string }{
		{"", "motion", "Write the motion work as"},
		{"12:36", "motion", "Write"},
		{"12:36:10,40", "motion", "Write"},
		{"12:36,10:40:8", "motion", "Write"},
		{"0:36,10:40", "cannon", "no count of 0"},
		{"12:-36,10:40", "minute_wheel", "not negative"},
		{"12:36,10.5:40", "minute_pinion", "Teeth are whole"},
		{"12:36,10:forty", "hour_wheel", "is not a number"},
	} {
		_, err := train.ParseMotionWork(tt.notation)
		bad, ok := err.(*train.NotationError)
		if !ok || bad.Field != tt.field || !strings.Contains(bad.Reason, tt.says) {
			t.Errorf("%q: %v", tt.notation, err)
		}
	}
	for notation, field := range map[string]string{"5:36,10:40": "cannon", "12:19,10:40": "minute_wheel",
		"12:36,5:40":   "minute_pinion",
		"12:36,10:201": "hour_wheel", "12:36,10:40": "", "?:36,10:40": ""} {
		bad := parseMotion(t, notation).Problems()
		if field == "" && len(bad) > 0 || field != "" && (len(bad) != 1 || bad[field] == "") {
			t.Errorf("%s: %v", notation, bad)
		}
	}
	says := parseMotion(t, "12:108,20:27").Remarks() // 120 against 47
	if len(says) != 2 || !strings.Contains(says[1], "one centre distance") {
		t.Errorf("%v", says)
	}
}

// Whichever count is taken away, it is found again.
func TestMissingMotionCountIsFound(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		leaves, k := rapid.IntRange(6, 20), rapid.IntRange(2, 5).Draw(rt, "first ratio")
		m := train.MotionWork{Cannon: leaves.Draw(rt, "cannon"), MinutePinion: leaves.Draw(rt, "minute pinion")}
		m.MinuteWheel, m.HourWheel = m.Cannon*k, m.MinutePinion*3
		field := rapid.SampledFrom([]string{"cannon", "minute_wheel", "minute_pinion", "hour_wheel"}).Draw(rt, "missing")
		hole := m.With(field, 0)
		got, exact, ok := hole.Missing(3 * k)
		if !ok || got != field || !exact.IsInt() || hole.With(field, int(exact.Num().Int64())) != m {
			rt.Fatalf("%s: %s %v", hole, got, exact)
		}
		if _, _, ok := m.Missing(12); ok {
			rt.Fatal("nothing is missing")
		}
	})
}
