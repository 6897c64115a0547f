package warranty_test

import (
	"testing"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/warranty"
)

func TestMayComeBack(t *testing.T) {
	t.Parallel()
	day := func(y int, m time.Month, d int) time.Time { return time.Date(y, m, d, 0, 0, 0, 0, time.UTC) }
	start := day(2026, 8, 31)
	for _, tt := range []struct {
		name   string
		stage  docket.Stage
		from   time.Time
		months int
		today  time.Time
		want   bool
	}{
		{"same day", docket.StageHandedOver, start, 6, start, true},
		{"last day, in a shorter month", docket.StageHandedOver, start, 6, day(2027, 2, 28), true},
		{"a day later", docket.StageHandedOver, start, 6, day(2027, 3, 1), false},
		{"before it left", docket.StageHandedOver, start, 6, day(2026, 8, 30), false},
		{"no warranty given", docket.StageHandedOver, start, 0, start, false},
		{"still in the shop", docket.StageReady, time.Time{}, 6, start, false},
		{"declined", docket.StageDeclined, start, 6, start, false},
	} {
		if got := warranty.MayComeBack(tt.stage, tt.from, tt.months, tt.today); got != tt.want {
			t.Errorf("%s: %v, want %v", tt.name, got, tt.want)
		}
	}
}
