package train_test

import (
	"errors"
	"math"
	"math/big"
	"strings"
	"testing"

	"ledgerwheel/domain/published"
	"ledgerwheel/domain/train"
)

func checkHours(t published.T, row published.Row) {
	var in struct {
		Turns  float64 `json:"usable_turns"`
		Teeth  int     `json:"barrel_teeth"`
		Leaves int     `json:"centre_pinion"`
	}
	var want float64
	row.Read(t, &in, &want)
	d := train.BarrelDrive{BarrelTeeth: in.Teeth, CentrePinionLeaves: in.Leaves}
	exact := new(big.Rat).Mul(d.HoursPerTurn(), new(big.Rat).SetFloat64(in.Turns)) // halves are exact in binary
	if exact.Cmp(new(big.Rat).SetFloat64(want)) != 0 {
		t.Errorf("got %s h, want %v", exact.RatString(), want)
	}
	near(t, "hours", d.Hours(in.Turns), want, 1e-12)
	near(t, "turns back", d.TurnsFor(want), in.Turns, 1e-12)
}

// checkDesign: four of six turns run 32 hours, so a turn 8 hours, as of 80 into 10, and six 48.
func checkDesign(t published.T, row published.Row) {
	var want struct {
		PerTurn float64 `json:"hours_per_turn"`
		Six     float64 `json:"reserve_6_turns_h"`
	}
	row.Read(t, nil, &want)
	d := train.BarrelDrive{BarrelTeeth: 80, CentrePinionLeaves: 10}
	near(t, "four turns, h", d.Hours(4), 32, 0)
	near(t, "a turn, h", d.Hours(1), want.PerTurn, 0)
	near(t, "six turns, h", d.Hours(6), want.Six, 0)
}

func checkTorque(t published.T, row published.Row) {
	var in struct {
		E         float64 `json:"E_GPa"`
		Width     float64 `json:"width_mm"`
		Thickness float64 `json:"thickness_mm"`
		Length    float64 `json:"length_mm"`
		Turns     float64
	}
	var want float64
	row.Read(t, &in, &want)
	s := train.Mainspring{WidthMm: in.Width, ThicknessMm: in.Thickness, LengthMm: in.Length}
	near(t, "torque, mN·m", s.TorqueMNm(in.E, in.Turns), want, 5e-4)

	// A modulus and a thickness at the edge of one standard deviation, each moved alone, make up the uncertainty.
	m := s.TorqueMNm(in.E, 1)
	thick := s
	thick.ThicknessMm += train.ThicknessReadingMm / math.Sqrt(3) / 1000 // a thousandth of it: the slope at the point
	byThickness := 1000 * (thick.TorqueMNm(in.E, 1)/m - 1)
	byModulus := s.TorqueMNm(in.E*(1+train.ModulusSpread/math.Sqrt(3)), 1)/m - 1
	near(t, "relative uncertainty", s.TorqueRelativeU(), math.Hypot(byThickness, byModulus), 1e-5)
}

// aWinding is a man's wristwatch of the usual sizes, made up.
func aWinding() train.Winding {
	b := train.Barrel{InsideDiameterMm: 10.5, ArborDiameterMm: 3.5, HeightMm: 1.6}
	return train.Winding{Barrel: b, Spring: train.Mainspring{WidthMm: 1.5, ThicknessMm: 0.12,
		LengthMm: b.HalfFillLengthMm(0.12)},
		Drive: train.BarrelDrive{BarrelTeeth: 72, CentrePinionLeaves: 10}, ModulusGPa: 210}
}

// The run is held against adding up small pieces: torque from the coils still wound, energy as torque over angle.
func TestRunDown(t *testing.T) {
	t.Parallel()
	w := aWinding()
	r := w.Run()
	near(t, "hours", r.Hours, r.Development.Turns*7.2, 1e-9)
	near(t, "full torque, mN·m", r.Full.TorqueMNm, w.Spring.TorqueMNm(210, r.Development.WoundCoils), 1e-12)
	near(t, "end torque, mN·m", r.End.TorqueMNm, w.Spring.TorqueMNm(210, r.Development.RunDownCoils), 1e-9)
	near(t, "torque at the centre, mN·m", r.CentreMNm*7.2, r.Full.TorqueMNm, 1e-12)
	if r.AfterDay == nil {
		t.Fatal("no figure after a day")
	}
	near(t, "share after a day", r.AfterDay.Share, (r.Development.WoundCoils-24/7.2)/r.Development.WoundCoils, 1e-12)

	var energy float64
	const pieces = 1000
	for i := range pieces {
		turns := (float64(i) + 0.5) / pieces * r.UsedTurns
		energy += w.Spring.TorqueMNm(210, r.Development.WoundCoils-turns) * 2 * math.Pi * r.UsedTurns / pieces
	}
	near(t, "energy, mJ", r.EnergyMJ, energy, 1e-6) // the midpoint rule is exact for a straight line; rounding only

	course := w.Course(6)
	if course[0].Share != 1 || course[len(course)-1] != r.End {
		t.Errorf("the course runs from %+v to %+v", course[0], course[len(course)-1])
	}
	for i := 1; i < len(course); i++ {
		if course[i].TorqueMNm >= course[i-1].TorqueMNm || course[i].Hours <= course[i-1].Hours {
			t.Errorf("the torque doesn't fall from %+v to %+v", course[i-1], course[i])
		}
	}
	near(t, "fifth entry is after a day, share", course[4].Share, r.AfterDay.Share, 1e-12)
}

func TestStopWorkAndTiredSpring(t *testing.T) {
	t.Parallel()
	w := aWinding()
	whole := w.Run()
	w.KeptTurns, w.LostTurns = 1, 0.5
	r := w.Run()
	near(t, "turns used", r.UsedTurns, whole.UsedTurns-1.5, 1e-12)
	if r.Full.TorqueMNm >= whole.Full.TorqueMNm || r.End.TorqueMNm <= whole.End.TorqueMNm {
		t.Error("stop-work doesn't take the ends off the torque")
	}
	w = aWinding()
	w.FreeCoils = -3
	if reversed := w.Run(); reversed.Full.TorqueMNm <= whole.Full.TorqueMNm || reversed.End.Share <= whole.End.Share {
		t.Error("a spring curled the other way has no more and no more even torque")
	}
	w.FreeCoils = whole.Development.RunDownCoils + 1
	tired := w.Run()
	near(t, "a tired spring's turns", tired.UsedTurns, whole.UsedTurns-1, 1e-9)
	near(t, "its torque at the end", tired.End.TorqueMNm, 0, 1e-9)
	if !tired.TiredSpring || whole.TiredSpring {
		t.Error("which spring is tired is wrong")
	}
	for field, spoil := range map[string]func(*train.Winding){
		"free_coils":           func(w *train.Winding) { w.FreeCoils = 25 },
		"kept_turns":           func(w *train.Winding) { w.KeptTurns = 9 },
		"lost_turns":           func(w *train.Winding) { w.LostTurns = math.NaN() },
		"modulus":              func(w *train.Winding) { w.ModulusGPa = 0 },
		"mainspring_width":     func(w *train.Winding) { w.Spring.WidthMm = -1 },
		"mainspring_length":    func(w *train.Winding) { w.Spring.LengthMm = 0 },
		"barrel_teeth":         func(w *train.Winding) { w.Drive.BarrelTeeth = -72 },
		"centre_pinion_leaves": func(w *train.Winding) { w.Drive.CentrePinionLeaves = 0 },
		"arbor_diameter":       func(w *train.Winding) { w.Barrel.ArborDiameterMm = 11 },
	} {
		w := aWinding()
		spoil(&w)
		if bad := w.Problems(); len(bad) != 1 || bad[field] == "" {
			t.Errorf("%s: got %v", field, bad)
		}
	}
}

func TestPossibleReserve(t *testing.T) {
	t.Parallel()
	w := aWinding()
	whole := w.Run().Hours
	got, err := train.PossibleReserveHours(w.Barrel, w.Spring, w.Drive)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "hours", got, whole, 1e-12)
	unknownLength := train.Mainspring{ThicknessMm: w.Spring.ThicknessMm}
	got, err = train.PossibleReserveHours(w.Barrel, unknownLength, w.Drive)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "hours, length not known", got, whole, 1e-9) // the spring fills half
	if _, err := train.PossibleReserveHours(train.Barrel{InsideDiameterMm: 10}, unknownLength, w.Drive); !errors.Is(err,
		train.ErrUnknownSizes) {
		t.Error("an unknown arbor:", err)
	}
	if _, err := train.PossibleReserveHours(train.Barrel{InsideDiameterMm: 10, ArborDiameterMm: 12}, unknownLength,
		w.Drive); err == nil || !strings.Contains(err.Error(), "no room") {
		t.Error("an arbor larger than its barrel:", err)
	}
	long := train.Mainspring{ThicknessMm: 0.12, LengthMm: 2000}
	if _, err := train.PossibleReserveHours(w.Barrel, long, w.Drive); err == nil || !strings.Contains(err.Error(),
		"No more than") {
		t.Error("a spring that doesn't go in:", err)
	}
}
