// Package train reckons with the wheels and pinions of a watch: what turns how fast and which way, the beat that a
// train gives, and what belongs where a part is missing. Counts are whole numbers and ratios exact fractions; nothing
// is decided by floating point.
//
// A train is written from the wheel that carries the minute hand to the escape wheel, each wheel with the pinion
// that it drives: 80:10,75:10,80:8,15 is a centre wheel of 80 into a third pinion of 10, on whose arbor the third wheel
// of 75 drives the fourth pinion of 10, on whose arbor the fourth wheel of 80 drives the escape pinion of 8, and an
// escape wheel of 15. Where the hands are not on the second and fourth arbor, words follow, parted by blanks:
//
//	seconds=fourth         in a dial of its own on the fourth arbor (sub-seconds), as when nothing is said
//	seconds=centre         the fourth arbor stands in the centre and carries the seconds hand (direct)
//	seconds=3/75:10        a further wheel of 75 on the third arbor drives the seconds hand's pinion of 10 (indirect)
//	seconds=none           no seconds hand
//	minute=3/60:12         a wheel of 60 on the third arbor drives the cannon pinion of 12: the second wheel lies
//	                       off the centre and need not turn once an hour
//	minute=2/12:36:12      the same through an intermediate wheel, here of 36, which keeps the direction
//
// Arbors are numbered as the trade numbers wheels: the barrel is the first, the centre wheel's arbor the second.
package train

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain/figure"
)

// Stage is one mesh of a train: a wheel, and the pinion that it drives.
type Stage struct{ Wheel, Pinion int }

// Train is a going train from the second wheel to the escape wheel.
type Train struct {
	Stages      []Stage // Stages[0].Wheel is on the second arbor, Stages[0].Pinion on the third, and so on
	EscapeTeeth int     // on the arbor of the last stage's pinion
	Seconds     Seconds // what carries the seconds hand
	// what drives a cannon pinion that is not on the second arbor; nil: it sits there, friction-tight
	Minute *HandDrive
}

// HandDrive is a mesh beside the going train: a further wheel on one of its arbors that drives a hand's pinion.
type HandDrive struct {
	Arbor  int // 2 is the second
	Wheel  int
	Idler  int // intermediate wheel between both, which turns the direction round and leaves the ratio; 0: none
	Pinion int
}

// SecondsLayout is the way in which a seconds hand is carried.
type SecondsLayout uint8

// The layouts of a seconds hand. Only CentreIndirect has a Drive.
const (
	SubSeconds     SecondsLayout = iota // on the fourth arbor, in a dial of its own; where there is no fourth, no hand
	CentreDirect                        // on the fourth arbor, which stands in the centre
	CentreIndirect                      // in the centre, driven from an arbor of the train
	NoSeconds
)

// Seconds says what carries the seconds hand.
type Seconds struct {
	Layout SecondsLayout
	Drive  HandDrive // of CentreIndirect
}

// NotationError says what is wrong with one count or word of a notation.
type NotationError struct {
	Field  string // wheel_1, pinion_1, wheel_2, ..., escape, seconds, minute; train for the whole
	Reason string // a sentence
}

func (e *NotationError) Error() string { return e.Reason }

// maxCount keeps what is typed within what can be counted; the practical limits are much narrower (see Problems).
const maxCount = 99999

// Parse reads a train in the notation of the package. Every count is a whole number above 0; an error is a
// *NotationError. Whether the counts are such as a watch has, Problems says.
func Parse(notation string) (Train, error) {
	wheels, words := split(notation)
	if wheels == "" {
		return Train{}, &NotationError{"train", "Write the train as 80:10,75:10,80:8,15: each wheel with the pinion it " +
			"drives, then the escape wheel."}
	}
	meshes := strings.Split(wheels, ",")
	var t Train
	for i, mesh := range meshes[:len(meshes)-1] {
		s, err := stage(mesh, i+1)
		if err != nil {
			return Train{}, err
		}
		t.Stages = append(t.Stages, s)
	}
	last := meshes[len(meshes)-1]
	if strings.Contains(last, ":") || len(t.Stages) == 0 {
		return Train{}, &NotationError{"escape", "End with the teeth of the escape wheel, which drives no pinion: " +
			"80:10,75:10,80:8,15."}
	}
	var err error
	if t.EscapeTeeth, err = count(last, "escape", "the escape wheel"); err != nil {
		return Train{}, err
	}
	for _, word := range words {
		if err := t.read(word); err != nil {
			return Train{}, err
		}
	}
	return t, nil
}

// ParseCounts reads a train typed count by count: wheel and pinion of each mesh, and the escape wheel. Meshes of which
// neither is typed are left out. It says all that is wrong, by field as NotationError does.
func ParseCounts(meshes [][2]string, escape string) (Train, map[string]string) {
	var t Train
	bad := map[string]string{}
	read := func(typed, field, what string) int {
		n, err := count(typed, field, what)
		if err != nil {
			bad[field] = err.Error()
		}
		return n
	}
	for i, m := range meshes {
		if strings.TrimSpace(m[0]) != "" || strings.TrimSpace(m[1]) != "" {
			t.Stages = append(t.Stages, Stage{
				Wheel:  read(m[0], fmt.Sprintf("wheel_%d", i+1), fmt.Sprintf("the %s wheel", ordinal(i+2))),
				Pinion: read(m[1], fmt.Sprintf("pinion_%d", i+1), fmt.Sprintf("the pinion that the %s wheel drives", ordinal(i+2))),
			})
		}
		if n := len(t.Stages); n > 0 && n < i+1 && bad["train"] == "" && (m[0] != "" || m[1] != "") {
			bad["train"] = "Leave no mesh out between two others."
		}
	}
	t.EscapeTeeth = read(escape, "escape", "the escape wheel")
	if len(t.Stages) == 0 {
		bad["train"] = "Give the train in one line, or count by count."
	}
	return t, bad
}

// With returns t with a word of the notation, such as seconds=centre or minute=3/60:12, in place of the one it has.
func (t Train) With(word string) (Train, error) {
	err := t.read(word)
	return t, err
}

// split parts the counts from the words that follow them. Blanks within the counts and semicolons are allowed.
func split(notation string) (wheels string, words []string) {
	parts := strings.FieldsFunc(notation, func(r rune) bool {
		return r == ' ' || r == '\t' || r == '\n' || r == '\r' ||
			r == ';' || r == '\u00a0'
	})
	i := slices.IndexFunc(parts, func(p string) bool { return strings.Contains(p, "=") })
	if i < 0 {
		i = len(parts)
	}
	return strings.Join(parts[:i], ""), parts[i:]
}

func stage(mesh string, n int) (Stage, error) {
	names := [2]string{fmt.Sprintf("wheel_%d", n), fmt.Sprintf("pinion_%d", n)}
	wheel, pinion, both := strings.Cut(mesh, ":")
	if !both {
		return Stage{}, &NotationError{names[1], fmt.Sprintf("Mesh %d lacks its pinion: write wheel and pinion as 80:10.", n)}
	}
	var s Stage
	var err error
	if s.Wheel, err = count(wheel, names[0], fmt.Sprintf("the %s wheel", ordinal(n+1))); err != nil {
		return Stage{}, err
	}
	if s.Pinion, err = count(pinion, names[1], fmt.Sprintf("the pinion that the %s wheel drives",
		ordinal(n+1))); err != nil {
		return Stage{}, err
	}
	return s, nil
}

// count reads a number of teeth or leaves.
func count(typed, field, what string) (int, error) {
	typed = strings.TrimSpace(typed)
	bad := func(reason string) error {
		return &NotationError{field, fmt.Sprintf("%s of %s.", reason, what)}
	}
	if typed == "" {
		return 0, bad("Give the count")
	}
	n, err := figure.ParseWhole(typed)
	var unread *figure.Error
	switch errors.As(err, &unread); {
	case err == nil && n == 0:
		return 0, bad("There is no count of 0: give the count")
	case err == nil && n < 0:
		return 0, bad("A count is not negative: give the count")
	case err == nil && n <= maxCount:
		return n, nil
	case err == nil || unread.Fault == figure.TooLong:
		return 0, bad(fmt.Sprintf("%s is no count of teeth: give the count", typed))
	case unread.Fault == figure.NotWhole || unread.Fault == figure.Twofold:
		return 0, bad(fmt.Sprintf("Teeth are whole, %s is not: give the whole count", typed))
	}
	return 0, bad(fmt.Sprintf("%q is not a number: give the count", typed))
}

// read takes a word such as seconds=centre into t.
func (t *Train) read(word string) error {
	name, value, _ := strings.Cut(word, "=")
	switch {
	case name == "seconds" && value == "centre":
		t.Seconds = Seconds{Layout: CentreDirect}
	case name == "seconds" && value == "fourth":
		t.Seconds = Seconds{}
	case name == "seconds" && value == "none":
		t.Seconds = Seconds{Layout: NoSeconds}
	case name == "seconds":
		d, err := drive(value, name)
		if err != nil {
			return err
		}
		t.Seconds = Seconds{Layout: CentreIndirect, Drive: d}
	case name == "minute":
		d, err := drive(value, name)
		if err != nil {
			return err
		}
		t.Minute = &d
	default:
		return &NotationError{"train", fmt.Sprintf("%q is not known here: only seconds=... and minute=... follow the counts.",
			word)}
	}
	return nil
}

// drive reads 3/75:10 or 2/12:36:12.
func drive(value, field string) (HandDrive, error) {
	arbor, counts, both := strings.Cut(value, "/")
	parts := strings.Split(counts, ":")
	if !both || len(parts) < 2 || len(parts) > 3 {
		return HandDrive{}, &NotationError{field, fmt.Sprintf("Write the %s hand’s drive as 3/75:10: the arbor, then its "+
			"further wheel and the pinion driven.", field)}
	}
	n, err := figure.ParseWhole(arbor)
	if err != nil || n < 2 || n > maxCount {
		return HandDrive{}, &NotationError{field,
			fmt.Sprintf("%q is not an arbor of the train: 2 is the second, 3 the third.", arbor)}
	}
	d := HandDrive{Arbor: n}
	if d.Wheel, err = count(parts[0], field, "the wheel that drives the "+field+" hand"); err != nil {
		return HandDrive{}, err
	}
	if len(parts) == 3 {
		if d.Idler, err = count(parts[1], field, "the intermediate wheel of the "+field+" hand"); err != nil {
			return HandDrive{}, err
		}
	}
	if d.Pinion, err = count(parts[len(parts)-1], field, "the pinion of the "+field+" hand"); err != nil {
		return HandDrive{}, err
	}
	return d, nil
}

// String writes t in the notation that Parse reads.
func (t Train) String() string {
	var b strings.Builder
	for _, s := range t.Stages {
		fmt.Fprintf(&b, "%d:%d,", s.Wheel, s.Pinion)
	}
	b.WriteString(strconv.Itoa(t.EscapeTeeth))
	switch t.Seconds.Layout {
	case CentreDirect:
		b.WriteString(" seconds=centre")
	case CentreIndirect:
		b.WriteString(" seconds=" + t.Seconds.Drive.String())
	case NoSeconds:
		b.WriteString(" seconds=none")
	}
	if t.Minute != nil {
		b.WriteString(" minute=" + t.Minute.String())
	}
	return b.String()
}

// String writes d as it stands in a notation.
func (d HandDrive) String() string {
	if d.Idler != 0 {
		return fmt.Sprintf("%d/%d:%d:%d", d.Arbor, d.Wheel, d.Idler, d.Pinion)
	}
	return fmt.Sprintf("%d/%d:%d", d.Arbor, d.Wheel, d.Pinion)
}

// ordinal names the nth wheel or arbor as the trade does.
func ordinal(n int) string {
	names := []string{"first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth"}
	if n >= 1 && n <= len(names) {
		return names[n-1]
	}
	return strconv.Itoa(n) + "th"
}
