package toolset

import (
	"cmp"
	"fmt"
	"math/big"
	"net/url"
	"strconv"
	"strings"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/train"
	"ledgerwheel/domain/watch"
	"ledgerwheel/web/chart"
)

// motionParts are the parts of a motion work, by the names of their fields.
var motionParts = []struct{ field, name, of, with string }{
	{"cannon", "Cannon pinion", "leaves", "minute wheel"}, {"minute_wheel", "Minute wheel", "teeth", "cannon pinion"},
	{"minute_pinion", "Minute pinion", "leaves", "hour wheel"}, {"hour_wheel", "Hour wheel", "teeth", "minute pinion"},
}

// motionWorkTool works out how the hour hand follows the minute hand, and the count that is missing.
func motionWorkTool() Tool {
	var fields []Field
	for i, p := range motionParts {
		f := Field{Name: p.field, Label: p.name, Unit: p.of, Kind: "number", Group: "Counts"}
		if i == 0 {
			f.Hint = "Leave the one count empty that is to be found."
		}
		fields = append(fields, f)
	}
	fields = append(fields,
		Field{Name: "dial_hours", Label: "The hour hand turns once in", Kind: "select", Group: "Dial", Default: "12",
			Options: [][2]string{{"12", "12 hours"}, {"24", "24 hours"}}},
		Field{Name: "hands_at", Label: "Where the hands stand after", Unit: "h:mm", Group: "Dial",
			Hint: "Counted from both at twelve, such as 7:30. May stay empty."})
	return Tool{
		Slug: "motion-work", Title: "Motion work",
		Purpose: "How the hour hand follows the minute hand, whether both keep together, and the one count that is missing.",
		Fields:  fields, Solve: solveMotionWork, Fill: fillMotionWork,
		Formulas: []Formula{
			{"(minute wheel / cannon pinion) · (hour wheel / minute pinion) = 12, or 24 on a dial of 24 hours",
				"The motion work formula of the trade’s handbooks; checked against published motion works.",
				"Exact. Hour and minute hand are tied: nothing else can make the hour hand wander, short of a loose hand or a " +
					"slipping wheel."},
			{"module of the hour mesh / module of the minute mesh = (cannon + minute wheel) / (minute pinion + hour wheel)",
				"The hour wheel turns about the cannon pinion, so both meshes share one centre distance.",
				"A guide to which size of tooth fits; the depth is proved in the movement."},
		},
		Cautions: []string{
			"Before you lift hands or dial, look at the lume: old hands and dials may carry radium. Don’t scrape, sand or " +
				"open it without dust control, and follow your radiation authority.",
			"Wear eye protection when you pull hands and the cannon pinion.",
		},
	}
}

func fillMotionWork(c watch.Calibre) url.Values {
	v := url.Values{}
	m, err := train.ParseMotionWork(c.MotionWork)
	if err != nil {
		return v
	}
	for i, n := range []int{m.Cannon, m.MinuteWheel, m.MinutePinion, m.HourWheel} {
		if n != 0 {
			v.Set(motionParts[i].field, strconv.Itoa(n))
		}
	}
	if c.DialHours == 24 {
		v.Set("dial_hours", "24")
	}
	return v
}

// motionAsked is what was typed of a motion work.
type motionAsked struct {
	work      train.MotionWork
	found     string // field of the count that was found; "" when all were given
	dialHours int
	after     *big.Rat // minutes after twelve; nil when not asked for
}

// readMotionWork reads the form and finds the missing count, with what stands against it by field.
func readMotionWork(v url.Values) (motionAsked, map[string]string) {
	a := motionAsked{dialHours: 12}
	if v.Get("dial_hours") == "24" {
		a.dialHours = 24
	}
	typed := func(i int) string { return cmp.Or(strings.TrimSpace(v.Get(motionParts[i].field)), "?") }
	bad := map[string]string{}
	for i, p := range motionParts {
		one := [4]string{"?", "?", "?", "?"}
		one[i] = typed(i)
		m, err := train.ParseMotionWork(one[0] + ":" + one[1] + "," + one[2] + ":" + one[3])
		if err != nil {
			bad[p.field] = err.Error()
			continue
		}
		a.work = a.work.With(p.field, []int{m.Cannon, m.MinuteWheel, m.MinutePinion, m.HourWheel}[i])
	}
	if at := strings.TrimSpace(v.Get("hands_at")); at != "" {
		minutes, ok := hoursAndMinutes(at)
		if !ok {
			bad["hands_at"] = "Give hours and minutes after twelve, such as 7:30."
		}
		a.after = minutes
	}
	if len(bad) == 0 {
		bad = a.work.Problems()
	}
	unknown := a.work.Unknown()
	if len(bad) > 0 || len(unknown) == 0 {
		return a, bad
	}
	field, exact, ok := a.work.Missing(a.dialHours)
	switch {
	case !ok:
		for _, field := range unknown {
			bad[field] = "Leave only one count empty: one can be found, not several."
		}
	case !exact.IsInt():
		bad[field] = fmt.Sprintf("No whole count makes %d:1 with the others, it would be %s: question the counts given.",
			a.dialHours, train.Words(exact))
	default:
		a.work, a.found = a.work.With(field, int(exact.Num().Int64())), field
		bad = a.work.Problems()
	}
	return a, bad
}

// hoursAndMinutes reads 7:30 as minutes.
func hoursAndMinutes(typed string) (*big.Rat, bool) {
	h, m, both := strings.Cut(typed, ":")
	hours, err := figure.ParseWhole(h)
	if err != nil || hours < 0 || hours > 999 {
		return nil, false
	}
	minutes := 0
	if both {
		minutes, err = figure.ParseWhole(m)
	}
	return big.NewRat(int64(60*hours+minutes), 1), err == nil && minutes >= 0 && minutes < 60
}

func solveMotionWork(v url.Values) (Answer, map[string]string) {
	asked, bad := readMotionWork(v)
	if len(bad) > 0 {
		return Answer{}, bad
	}
	m := asked.work
	ratio, _ := m.Ratio()
	modules, _ := m.ModuleRatio()
	a := Answer{Drawing: motionDrawing(asked), Correction: map[string]string{"motion_work": m.String(),
		"dial_hours": strconv.Itoa(asked.dialHours)}}
	if asked.found != "" {
		foundMotionPart(&a, asked)
	}
	keeps := m.DialHours() == asked.dialHours
	a.Rows = append(a.Rows,
		Row{"Motion work", m.String(), ""},
		Row{"Turns of the minute hand for one of the hour hand", train.Words(ratio), ""},
		Row{"Directions", "cannon pinion and hour wheel clockwise", "the minute wheel between them anticlockwise"},
		Row{"Module of the hour mesh", train.Words(modules) + " of the minute mesh’s",
			"both meshes share one centre distance"})
	a.Finding = cmp.Or(a.Finding, fmt.Sprintf("The motion work %s turns the minute hand %s times for one turn of the hour hand.", m, train.Words(ratio)))
	if !keeps {
		a.Correction = nil // nothing to keep for right
		a.Tables = append(a.Tables, wanderTable(asked))
		a.Finding += fmt.Sprintf(" A dial of %d hours needs %d: the hands don’t keep together.", asked.dialHours,
			asked.dialHours)
		if m.DialHours() != 0 {
			a.Rows = append(a.Rows, Row{"To look at", fmt.Sprintf("This is for a dial of %d hours, not %d.", m.DialHours(),
				asked.dialHours), ""})
		}
	}
	for _, says := range m.Remarks() {
		a.Rows = append(a.Rows, Row{"To look at", says, ""})
	}
	if asked.after != nil {
		minute, hour, _ := m.Hands(asked.after)
		at := fmt.Sprintf("after %s", clockWords(asked.after))
		a.Rows = append(a.Rows, Row{"Minute hand stands at", train.Words(minute) + "°", at + ", clockwise from twelve"},
			Row{"Hour hand stands at", train.Words(hour) + "°", at + ", clockwise from twelve"})
	}
	return a, nil
}

// clockWords writes minutes as 7:30.
func clockWords(minutes *big.Rat) string {
	whole := minutes.Num().Int64() // read as whole minutes
	return fmt.Sprintf("%d:%02d", whole/60, whole%60)
}

// foundMotionPart says which count was found, and what to order by it.
func foundMotionPart(a *Answer, asked motionAsked) {
	m := asked.work
	counts := map[string]int{"cannon": m.Cannon, "minute_wheel": m.MinuteWheel, "minute_pinion": m.MinutePinion,
		"hour_wheel": m.HourWheel}
	for i, p := range motionParts {
		if p.field != asked.found {
			continue
		}
		mate := motionParts[i^1] // cannon and minute wheel mesh, minute pinion and hour wheel do
		a.Rows = append(a.Rows, Row{p.name, fmt.Sprintf("%d %s", counts[p.field], p.of), "found from the other three"})
		a.Finding = fmt.Sprintf("The %s needs %d %s to make %d:1 with %s.", strings.ToLower(p.name), counts[p.field], p.of,
			asked.dialHours, m.With(p.field, 0))
		a.Part = &Part{p.name, fmt.Sprintf("%d %s, meshes with the %s of %d", counts[p.field], p.of,
			strings.ToLower(mate.name), counts[mate.field])}
	}
}

// wanderTable says how far the hour hand strays from where it belongs.
func wanderTable(asked motionAsked) Table {
	t := Table{Caption: "The hour hand, as it reads on the dial", Head: []string{"After", "Off by", "Which is"}}
	for _, hours := range []int{1, 3, 6, 12, 24} {
		off, _ := asked.work.HourHandErrorMinutes(asked.dialHours, hours)
		which := "ahead"
		if off.Sign() < 0 {
			which = "behind"
		}
		t.Rows = append(t.Rows, []string{fmt.Sprintf("%d h", hours), train.Words(new(big.Rat).Abs(off)) + " min", which})
	}
	return t
}

// motionDrawing draws the motion work from the cannon pinion to the hour wheel.
func motionDrawing(asked motionAsked) chart.TrainDrawing {
	m := asked.work
	ratio, _ := m.Ratio()
	return chart.TrainDrawing{
		ID: "motion-work-drawing", Title: "The motion work, unrolled", NoEscape: true, LastName: "hour",
		SeenFrom: "seen from the dial side",
		Stages: []chart.TrainStage{
			{Wheel: m.Cannon, Pinion: m.MinuteWheel, Name: "cannon", WheelSought: asked.found == "cannon",
				PinionSought: asked.found == "minute_wheel"},
			{Wheel: m.MinutePinion, Pinion: m.HourWheel, Name: "minute", WheelSought: asked.found == "minute_pinion",
				PinionSought: asked.found == "hour_wheel"},
		},
		TurnsPerHour: []string{"1", train.Words(big.NewRat(int64(m.Cannon), int64(m.MinuteWheel))),
			train.Words(new(big.Rat).Inv(ratio))},
		Facts: []chart.Fact{{Name: "minute hand to hour hand", Value: train.Words(ratio) + " to 1"}},
	}
}
