package train

import (
	"fmt"
	"math/big"
	"strconv"
	"strings"
)

// MotionWork leads from the minute hand to the hour hand: the cannon pinion drives the minute wheel, and the minute
// pinion on the minute wheel's arbor drives the hour wheel, which turns about the cannon pinion. A count of 0 is not
// known.
type MotionWork struct{ Cannon, MinuteWheel, MinutePinion, HourWheel int }

// motionFields are the fields of a motion work in the order of its notation.
var motionFields = [4]struct {
	name, what, of string
}{
	{"cannon", "cannon pinion", "leaves"}, {"minute_wheel", "minute wheel", "teeth"},
	{"minute_pinion", "minute pinion", "leaves"}, {"hour_wheel", "hour wheel", "teeth"},
}

// ParseMotionWork reads 12:36,10:40: cannon pinion 12 into minute wheel 36, minute pinion 10 into hour wheel 40. A ? in
// place of a count is one that is not known. An error is a *NotationError whose field is cannon, minute_wheel,
// minute_pinion, hour_wheel or motion.
func ParseMotionWork(notation string) (MotionWork, error) {
	meshes := strings.Split(notation, ",")
	parts := strings.Split(strings.ReplaceAll(notation, ",", ":"), ":")
	if len(meshes) != 2 || len(parts) != 4 || strings.Count(meshes[0], ":") != 1 {
		return MotionWork{}, &NotationError{"motion", "Write the motion work as 12:36,10:40: cannon pinion and minute " +
			"wheel, minute pinion and hour wheel."}
	}
	var m MotionWork
	for i, f := range motionFields {
		if strings.TrimSpace(parts[i]) == "?" {
			continue
		}
		n, err := count(parts[i], f.name, "the "+f.what)
		if err != nil {
			return MotionWork{}, err
		}
		*m.counts()[i] = n
	}
	return m, nil
}

func (m *MotionWork) counts() [4]*int {
	return [4]*int{&m.Cannon, &m.MinuteWheel, &m.MinutePinion, &m.HourWheel}
}

// String writes m in the notation that ParseMotionWork reads.
func (m MotionWork) String() string {
	word := func(n int) string {
		if n == 0 {
			return "?"
		}
		return strconv.Itoa(n)
	}
	return word(m.Cannon) + ":" + word(m.MinuteWheel) + "," + word(m.MinutePinion) + ":" + word(m.HourWheel)
}

// Unknown names the fields whose count is not known.
func (m MotionWork) Unknown() []string {
	var fields []string
	for i, n := range m.counts() {
		if *n == 0 {
			fields = append(fields, motionFields[i].name)
		}
	}
	return fields
}

// Problems says, by field, what stands against m as a motion work; a count that is not known doesn't.
func (m MotionWork) Problems() map[string]string {
	bad := map[string]string{}
	for i, f := range motionFields {
		if n := *m.counts()[i]; n != 0 {
			least, most := MinLeaves, MaxLeaves
			if f.of == "teeth" {
				least, most = MinTeeth, MaxTeeth
			}
			judge(bad, f.name, f.what, n, least, most, f.of)
		}
	}
	return bad
}

// Ratio is the number of turns of the minute hand for one of the hour hand: (minute wheel / cannon pinion) · (hour
// wheel / minute pinion). False where a count isn't known. Source: the motion work formula of the trade's handbooks.
func (m MotionWork) Ratio() (*big.Rat, bool) {
	if len(m.Unknown()) > 0 {
		return nil, false
	}
	return new(big.Rat).Mul(big.NewRat(int64(m.MinuteWheel), int64(m.Cannon)), big.NewRat(int64(m.HourWheel),
		int64(m.MinutePinion))), true
}

// DialHours is the number of hours on the dial that m is for, 12 or 24; 0 where it is for neither.
func (m MotionWork) DialHours() int {
	ratio, ok := m.Ratio()
	for _, hours := range []int64{12, 24} {
		if ok && ratio.Cmp(big.NewRat(hours, 1)) == 0 {
			return int(hours)
		}
	}
	return 0
}

// Missing returns the one count that isn't known so that the hour hand turns once in so many hours: the field and the
// exact count, which is no whole number where the counts given don't go together. False unless exactly one is missing.
func (m MotionWork) Missing(dialHours int) (field string, exact *big.Rat, ok bool) {
	unknown := m.Unknown()
	if len(unknown) != 1 || dialHours < 1 {
		return "", nil, false
	}
	product := big.NewRat(int64(dialHours), 1) // of the drivers, over the driven that are known
	for i, n := range m.counts() {
		switch {
		case *n == 0:
		case i%2 == 0: // drivers
			product.Mul(product, big.NewRat(int64(*n), 1))
		default:
			product.Quo(product, big.NewRat(int64(*n), 1))
		}
	}
	if unknown[0] == "cannon" || unknown[0] == "minute_pinion" {
		product.Inv(product)
	}
	return unknown[0], product, true
}

// With returns m with the count of a field.
func (m MotionWork) With(field string, n int) MotionWork {
	for i, f := range motionFields {
		if f.name == field {
			*m.counts()[i] = n
		}
	}
	return m
}

// HourHandErrorMinutes is how far the hour hand stands ahead of (or, negative, behind) where it belongs after so many
// turns of the minute hand, in minutes of time as it reads on a dial of so many hours: the two hands are tied, so it
// is exact. False where a count isn't known.
func (m MotionWork) HourHandErrorMinutes(dialHours, turns int) (*big.Rat, bool) {
	ratio, ok := m.Ratio()
	if !ok {
		return nil, false
	}
	hand := new(big.Rat).Quo(big.NewRat(int64(turns*dialHours), 1), ratio) // hours that it has moved on the dial
	hand.Sub(hand, big.NewRat(int64(turns), 1))
	return hand.Mul(hand, big.NewRat(60, 1)), true
}

// Hands returns where the hands stand so long after both stood at twelve: degrees of each, from 0 up to 360, clockwise.
// The hour hand follows from the minute hand alone. False where a count isn't known.
func (m MotionWork) Hands(minutes *big.Rat) (minuteDeg, hourDeg *big.Rat, ok bool) {
	ratio, ok := m.Ratio()
	if !ok {
		return nil, nil, false
	}
	turned := new(big.Rat).Mul(minutes, big.NewRat(6, 1))
	return within360(turned), within360(new(big.Rat).Quo(turned, ratio)), true
}

func within360(deg *big.Rat) *big.Rat {
	circle := big.NewRat(360, 1)
	turns := new(big.Rat).Quo(deg, circle)
	whole := new(big.Int).Div(turns.Num(), turns.Denom()) // Euclidean, so it holds for negative times too
	return new(big.Rat).Sub(deg, circle.Mul(circle, new(big.Rat).SetInt(whole)))
}

// ModuleRatio is the module of the hour mesh over that of the minute mesh: the hour wheel turns about the cannon
// pinion, so both meshes have one centre distance and module · (sum of counts) is the same for both. False where a
// count isn't known.
func (m MotionWork) ModuleRatio() (*big.Rat, bool) {
	if len(m.Unknown()) > 0 {
		return nil, false
	}
	return big.NewRat(int64(m.Cannon+m.MinuteWheel), int64(m.MinutePinion+m.HourWheel)), true
}

// Remarks says, as sentences, what is unusual about a motion work whose counts are all known and without Problems.
func (m MotionWork) Remarks() []string {
	var says []string
	ratio, ok := m.Ratio()
	if !ok {
		return nil
	}
	if m.DialHours() == 0 {
		says = append(says, fmt.Sprintf("The minute hand turns %s times for one turn of the hour hand, neither 12 nor 24: "+
			"the hands don’t keep together.", Words(ratio)))
	}
	if modules, _ := m.ModuleRatio(); modules.Cmp(big.NewRat(2, 3)) < 0 || modules.Cmp(big.NewRat(3, 2)) > 0 {
		says = append(says, fmt.Sprintf("Both meshes share one centre distance, so the hour mesh would need teeth %s "+
			"times the minute mesh’s: check the counts.", Words(modules)))
	}
	return says
}
