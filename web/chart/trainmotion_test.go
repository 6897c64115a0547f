package chart_test

import (
	"math/big"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"ledgerwheel/domain/train"
	"ledgerwheel/web/chart"
)

// motionOf is a train as the customer's page has it.
func motionOf(t testing.TB, notation string) chart.TrainMotion {
	t.Helper()
	parsed, err := train.Parse(notation)
	if err != nil {
		t.Fatal(err)
	}
	d := chart.TrainMotion{ID: "train", Title: "The train", Train: chart.TrainDrawing{EscapeTeeth: parsed.EscapeTeeth}}
	for _, s := range parsed.Stages {
		d.Train.Stages = append(d.Train.Stages, chart.TrainStage{Wheel: s.Wheel, Pinion: s.Pinion})
	}
	for _, a := range parsed.Arbors() {
		d.TurnsPerHour = append(d.TurnsPerHour, a.TurnsPerHour)
	}
	d.Train.Anticlockwise = !parsed.Arbors()[0].Clockwise
	return d
}

var turned = regexp.MustCompile(`\.chart-turns-(\d) \{ animation-duration: ([0-9.]+)s; animation-direction: (normal|reverse); \}`)

// TestWheelsTurnAtTrueRatio holds the style sheet to the train's own counts: the times of two arbors that mesh are as their
// teeth, wheel to pinion, and they turn against each other. The usual train of 18 000 beats is worked by hand: its escape
// wheel of 15 turns in 6 s, so three times as fast it takes 2 s, and the centre wheel, once an hour, 1200 s.
func TestWheelsTurnAtTrueRatio(t *testing.T) {
	t.Parallel()
	usual := motionOf(t, "80:10,75:10,80:8,15")
	if usual.TimesAsFast() != 3 || !strings.Contains(usual.Styles(), "#train .chart-turns-1 { animation-duration: 1200.000000s;") ||
		!strings.Contains(usual.Styles(), "#train .chart-turns-4 { animation-duration: 2.000000s;") {
		t.Errorf("×%g: %s", usual.TimesAsFast(), usual.Styles())
	}
	for _, notation := range []string{"80:10,75:10,80:8,15", "84:12,70:8,80:8,20", "75:10,64:8,72:7,21", "60:8,15"} {
		d := motionOf(t, notation)
		rows := turned.FindAllStringSubmatch(d.Styles(), -1)
		if len(rows) != len(d.Train.Stages)+1 {
			t.Fatalf("%s: %d arbors turn: %s", notation, len(rows), d.Styles())
		}
		for i, st := range d.Train.Stages {
			slow, _ := strconv.ParseFloat(rows[i][2], 64)
			fast, _ := strconv.ParseFloat(rows[i+1][2], 64)
			want, _ := big.NewRat(int64(st.Wheel), int64(st.Pinion)).Float64()
			if got := slow / fast; got < want*0.99999 || got > want*1.00001 {
				t.Errorf("%s: arbor %d turns %g times as slowly as the next, its teeth say %g", notation, i+1, got, want)
			}
			if rows[i][3] == rows[i+1][3] {
				t.Errorf("%s: arbors %d and %d turn the same way", notation, i+1, i+2)
			}
		}
		drawing, err := d.SVG()
		if err != nil || strings.Count(drawing, `class="chart-turns chart-turns-`) != len(rows) || strings.Contains(drawing, "style=") {
			t.Errorf("%s: %v, %s", notation, err, drawing)
		}
	}
}

func TestWhatIsNotKnownDoesNotTurn(t *testing.T) {
	t.Parallel()
	unknown := motionOf(t, "80:10,75:10,80:8,15")
	unknown.Train.Stages[1].Pinion = 0
	none := chart.TrainMotion{ID: "train"}
	few := motionOf(t, "80:10,75:10,80:8,15")
	few.TurnsPerHour = few.TurnsPerHour[:2]
	for name, d := range map[string]chart.TrainMotion{"a count": unknown, "all": none, "turns": few} {
		if _, err := d.SVG(); err == nil {
			t.Errorf("%s not known, and it turns", name)
		}
	}
}
