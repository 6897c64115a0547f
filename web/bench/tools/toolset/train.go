package toolset

import (
	"cmp"
	"fmt"
	"maps"
	"math/big"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/train"
	"ledgerwheel/domain/watch"
	"ledgerwheel/web/chart"
)

// goingTrainCautions stand at every tool with which hands go to the train.
var goingTrainCautions = []string{
	"Let the mainspring down before you free the fork or the train: a train under power runs down at once and breaks " +
		"pivots and teeth.",
	"Wear eye protection where a spring or a pivot can fly. The house rules of your shop and your local rules come first.",
}

// typedMeshes is how many meshes can be typed count by count.
const typedMeshes = 4

// trainTool works out beat, arbors and hands from the counts of a train.
func trainTool() Tool {
	const oneLine, counts, hands, check = "In one line", "Or count by count", "Hands", "To check against"
	fields := []Field{{Name: "train", Label: "Train", Group: oneLine,
		Hint: "Each wheel with the pinion it drives, then the escape wheel: 80:10,75:10,80:8,15. seconds=centre and the " +
			"like may follow."}}
	names := []string{"Centre", "Third", "Fourth", "Fifth", "Sixth"}
	for i := range typedMeshes {
		driven := names[i+1] + " pinion"
		if i >= 2 {
			driven = names[i+1] + " or escape pinion"
		}
		fields = append(fields,
			Field{Name: fmt.Sprintf("wheel_%d", i+1), Label: names[i] + " wheel", Unit: "teeth", Kind: "number", Group: counts},
			Field{Name: fmt.Sprintf("pinion_%d", i+1), Label: driven, Unit: "leaves", Kind: "number", Group: counts})
	}
	fields = append(fields,
		Field{Name: "escape", Label: "Escape wheel", Unit: "teeth", Kind: "number", Group: counts},
		Field{Name: "seconds", Label: "Seconds hand", Kind: "select", Group: hands, Options: [][2]string{
			{"", "as the line says, or on the fourth arbor"}, {"fourth", "sub-seconds, on the fourth arbor"},
			{"centre", "centre-seconds, direct"},
			{"indirect", "centre-seconds, indirect"}, {"none", "none"}}},
		Field{Name: "seconds_drive", Label: "Indirect seconds driven by", Group: hands,
			Hint: "Arbor, its further wheel, the seconds pinion: 3/75:10. Through an intermediate wheel: 4/30:41:30."},
		Field{Name: "minute_drive", Label: "Off-centre minute: cannon pinion driven by", Group: hands,
			Hint: "Only where the cannon pinion is not on the second arbor: 3/60:12, or 2/12:36:12 through an intermediate wheel."},
		Field{Name: "graduations", Label: "Graduations of the seconds track", Kind: "number", Group: hands, Default: "60"},
		Field{Name: "beats_per_hour", Label: "Beats per hour it should give", Kind: "number", Group: check,
			Hint: "May stay empty."})
	return Tool{
		Slug: "train", Title: "Wheel train",
		Purpose: "Beat, turns and direction of every arbor, and the hands, from the counts of wheels and pinions.",
		Fields:  fields, Solve: solveTrain, Fill: fillTrain,
		Formulas: []Formula{
			{"beats per hour = 2 · escape teeth · (product of wheels / product of pinions) · turns per hour of the second wheel",
				"The train formula of the trade’s handbooks; checked against published trains.",
				"Exact. Two beats to a tooth: lever escapements, pin pallets too, not cylinder wheels or detents with other counts."},
			{"turns per hour of a driven arbor = those of the driver · wheel / pinion; each mesh turns the direction round",
				"Rolling without slip.", "Exact while teeth mesh; says nothing of depth or wear."},
			{"ticks per graduation = beats per hour / (turns per hour of the seconds hand · graduations)", "Follows from both.",
				"Exact. A hand rests on the graduations where it is whole."},
			{"pinions of 6 leaves and more, wheels of 20 to 200 teeth, escape wheels of 12 to 21", "Common practice.",
				"Counts outside are refused or remarked on, not wrong in themselves."},
		},
		Cautions: goingTrainCautions,
	}
}

func fillTrain(c watch.Calibre) url.Values {
	v := url.Values{}
	if c.Train != "" {
		v.Set("train", c.Train)
		if c.BeatsPerHour > 0 {
			v.Set("beats_per_hour", strconv.Itoa(c.BeatsPerHour))
		}
	}
	return v
}

// readTrain reads the train of the form, from its line or its counts, with what stands against it by field.
func readTrain(v url.Values) (train.Train, map[string]string) {
	line := strings.TrimSpace(v.Get("train"))
	var meshes [][2]string
	typed := v.Get("escape") != ""
	for i := range typedMeshes {
		m := [2]string{v.Get(fmt.Sprintf("wheel_%d", i+1)), v.Get(fmt.Sprintf("pinion_%d", i+1))}
		typed = typed || m[0] != "" || m[1] != ""
		meshes = append(meshes, m)
	}
	var t train.Train
	bad := map[string]string{}
	switch {
	case line == "":
		t, bad = train.ParseCounts(meshes, v.Get("escape"))
	case typed:
		bad["train"] = "Give the train in one line or count by count, not both."
	default:
		t, bad = readTrainLine(line)
	}
	if len(bad) > 0 {
		return t, bad
	}
	t = readHands(t, v, bad)
	if len(bad) == 0 {
		bad = t.Problems()
	}
	for _, hand := range []string{"seconds", "minute"} { // beside the field where it was typed
		if says := bad[hand]; says != "" && v.Get(hand+"_drive") != "" {
			delete(bad, hand)
			bad[hand+"_drive"] = says
		}
	}
	if line != "" {
		bad = underTrain(bad)
	}
	return t, bad
}

// readTrainLine reads a train in one line; what stands against it is said of the line.
func readTrainLine(line string) (train.Train, map[string]string) {
	t, err := train.Parse(line)
	if err != nil {
		return t, map[string]string{"train": err.Error()}
	}
	return t, map[string]string{}
}

// underTrain says what stands against single counts of a train given in one line of the line.
func underTrain(bad map[string]string) map[string]string {
	out := map[string]string{}
	var says []string
	for _, field := range slices.Sorted(maps.Keys(bad)) {
		if field == "seconds" || strings.HasSuffix(field, "_drive") {
			out[field] = bad[field]
		} else {
			says = append(says, bad[field])
		}
	}
	if len(says) > 0 {
		out["train"] = strings.Join(says, " ")
	}
	return out
}

// readHands takes what was chosen for the hands into t.
func readHands(t train.Train, v url.Values, bad map[string]string) train.Train {
	word := func(field, word string) {
		next, err := t.With(word)
		if err != nil {
			bad[field] = err.Error()
			return
		}
		t = next
	}
	drive := strings.TrimSpace(v.Get("seconds_drive"))
	switch seconds := v.Get("seconds"); {
	case seconds == "indirect" && drive == "" && t.Seconds.Layout != train.CentreIndirect:
		bad["seconds_drive"] = "Give what drives the seconds hand: arbor, wheel and pinion, such as 3/75:10."
	case (seconds == "indirect" || seconds == "") && drive != "":
		word("seconds_drive", "seconds="+drive)
	case drive != "":
		bad["seconds_drive"] = "Only an indirect seconds hand has a drive of its own: choose that, or empty this."
	case seconds != "" && seconds != "indirect":
		word("seconds", "seconds="+seconds)
	}
	if minute := strings.TrimSpace(v.Get("minute_drive")); minute != "" {
		word("minute_drive", "minute="+minute)
	}
	return t
}

// mostTrackGraduations is more than any seconds track has.
const mostTrackGraduations = 3600

func solveTrain(v url.Values) (Answer, map[string]string) {
	t, bad := readTrain(v)
	graduations, err := figure.ParseWhole(cmp.Or(v.Get("graduations"), "60"))
	if err != nil || graduations < 1 || graduations > mostTrackGraduations {
		bad["graduations"] = figure.Sentence(err,
			fmt.Sprintf("Give the whole number of graduations from 1 to %d, such as 60 or 300.", mostTrackGraduations))
	}
	stated, problem := readStatedBeat(v)
	if problem != "" {
		bad["beats_per_hour"] = problem
	}
	if len(bad) > 0 {
		return Answer{}, bad
	}
	a := Answer{Tables: []Table{arborTable(t)}, Drawing: trainDrawing("train-drawing", t), Correction: map[string]string{
		"train": t.String()}}
	beats := train.Words(t.Beats())
	a.Rows = append(a.Rows,
		Row{"Train", t.String(), ""},
		Row{"Beats per hour", beats, agreement(t.Beats(), stated)},
		Row{"Beats per second", train.Words(new(big.Rat).Quo(t.Beats(), big.NewRat(3600, 1))), ""},
		Row{"Balance", train.Words(t.Hertz()) + " Hz", "full oscillations per second"},
		Row{"One turn of the " + t.Arbors()[0].Name + " wheel", train.PeriodWords(t.Arbors()[0].PeriodS()), ""},
		handRow("Minute hand", t.MinuteHand()))
	a.Finding = fmt.Sprintf("The train %s gives %s beats per hour.", t, beats)
	if hand, ok := t.SecondsHand(); ok {
		ticks, _ := t.TicksPerGraduation(graduations)
		row := handRow("Seconds hand", hand)
		row.Note = t.Seconds.Layout.String() + ", " + row.Note
		a.Rows = append(a.Rows, row, Row{"Ticks per graduation", train.Words(ticks), fmt.Sprintf("of a track of %d",
			graduations)})
		a.Finding = fmt.Sprintf("The train %s gives %s beats per hour; its seconds hand turns once in %s.", t, beats,
			train.PeriodWords(hand.PeriodS()))
	} else {
		a.Rows = append(a.Rows, Row{"Seconds hand", "none", ""})
	}
	remarks := t.Remarks()
	if stated != nil && stated.Cmp(t.Beats()) != 0 {
		remarks = append([]string{fmt.Sprintf("It should give %s: a count is wrong, or the beat.", train.Words(stated))},
			remarks...)
		a.Finding += fmt.Sprintf(" It should give %s.", train.Words(stated))
	}
	for _, says := range remarks {
		a.Rows = append(a.Rows, Row{"To look at", says, ""})
	}
	if t.Beats().IsInt() {
		a.Correction["beats_per_hour"] = t.Beats().Num().String()
	}
	return a, nil
}

func handRow(label string, h train.Hand) Row {
	return Row{label, "one turn in " + train.PeriodWords(h.PeriodS()), train.DirectionWords(h.Clockwise) + ", " + h.On}
}

func agreement(beats, stated *big.Rat) string {
	switch {
	case stated != nil && beats.Cmp(stated) == 0:
		return "as it should"
	case stated != nil:
		return "not " + train.Words(stated)
	case train.IsUsualBeat(beats):
		return "a usual beat"
	}
	return ""
}

// arborTable is the arbors of a train from the second on.
func arborTable(t train.Train) Table {
	table := Table{Caption: "Arbors", Head: []string{"Arbor", "Wheel", "Pinion", "Turns per hour", "One turn",
		"From the dial side"}}
	for _, a := range t.Arbors() {
		pinion := "–"
		if a.Pinion != 0 {
			pinion = strconv.Itoa(a.Pinion)
		}
		table.Rows = append(table.Rows, []string{a.Name, strconv.Itoa(a.Wheel), pinion, train.Words(a.TurnsPerHour),
			train.PeriodWords(a.PeriodS()), train.DirectionWords(a.Clockwise)})
	}
	return table
}

// trainDrawing draws a going train.
func trainDrawing(id string, t train.Train) chart.TrainDrawing {
	arbors := t.Arbors()
	d := chart.TrainDrawing{ID: id, Title: "The train, unrolled", EscapeTeeth: t.EscapeTeeth,
		Anticlockwise: !arbors[0].Clockwise,
		SeenFrom:      "seen from the dial side",
		Facts:         []chart.Fact{{Name: "beats per hour", Value: train.Words(t.Beats())}}}
	for i, s := range t.Stages {
		d.Stages = append(d.Stages, chart.TrainStage{Wheel: s.Wheel, Pinion: s.Pinion, Name: arbors[i].Name})
	}
	for _, a := range arbors {
		d.TurnsPerHour = append(d.TurnsPerHour, train.Words(a.TurnsPerHour))
	}
	if hand, ok := t.SecondsHand(); ok {
		d.Facts = append(d.Facts, chart.Fact{Name: "seconds hand", Value: "one turn in " + train.PeriodWords(hand.PeriodS()) +
			", " + train.DirectionWords(hand.Clockwise)})
	}
	return d
}

// readStatedBeat reads the beat that there should be; nil where none is stated. The problem is a sentence for its
// field.
func readStatedBeat(v url.Values) (beats *big.Rat, problem string) {
	typed := v.Get("beats_per_hour")
	if figure.Blank(typed) {
		return nil, ""
	}
	n, err := figure.ParseThousands(typed)
	if err != nil || n.Float() <= 0 {
		return nil, figure.Sentence(err, "Give the beats per hour as a number above 0, such as 18000, or leave it empty.")
	}
	return n.Rat(), ""
}
