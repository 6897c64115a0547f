package train

import (
	"fmt"
	"math/big"
	"strings"
)

// What the wheels of a watch's train can be, wide enough for old clock-like movements and the finest trains (common
// practice). Pinions of fewer leaves than six don't hand the drive on from leaf to leaf.
const (
	MinLeaves, MaxLeaves              = 6, 24
	MinTeeth, MaxTeeth                = 20, 200
	LeastEscapeTeeth, MostEscapeTeeth = 6, 40

	// Escape wheels of watches lie within these; 15 is by far the most usual, 20 and 21 for the fast beats.
	UsualLeastEscapeTeeth, UsualMostEscapeTeeth = 12, 21

	maxStages = 6
)

// Problems says, by field, what stands against t as the train of a watch: wheel_1, pinion_1, wheel_2, ... escape,
// seconds, minute, and train for the whole. Empty: nothing.
func (t Train) Problems() map[string]string {
	bad := map[string]string{}
	if n := len(t.Stages); n == 0 || n > maxStages {
		bad["train"] = fmt.Sprintf("A train has from 1 to %d meshes, this one has %d.", maxStages, n)
	}
	for i, s := range t.Stages {
		wheel, driven := t.arborName(i+2)+" wheel", t.arborName(i+3)+" pinion"
		judge(bad, fmt.Sprintf("wheel_%d", i+1), wheel, s.Wheel, MinTeeth, MaxTeeth, "teeth")
		judge(bad, fmt.Sprintf("pinion_%d", i+1), driven, s.Pinion, MinLeaves, MaxLeaves, "leaves")
		if field := fmt.Sprintf("wheel_%d", i+1); bad[field] == "" && s.Wheel <= s.Pinion {
			bad[field] = fmt.Sprintf("The %s of %d must have more teeth than the %s of %d that it drives.", wheel, s.Wheel,
				driven, s.Pinion)
		}
	}
	judge(bad, "escape", "escape wheel", t.EscapeTeeth, LeastEscapeTeeth, MostEscapeTeeth, "teeth")
	t.judgeDrives(bad)
	return bad
}

// judge adds what is wrong with one count.
func judge(bad map[string]string, field, what string, n, least, most int, of string) {
	switch {
	case n == 0:
		bad[field] = fmt.Sprintf("Give the %s of the %s; there is no count of 0.", of, what)
	case n < 0:
		bad[field] = fmt.Sprintf("The %s of the %s can’t be %d: a count is not negative.", of, what, n)
	case n < least && of == "leaves":
		bad[field] = fmt.Sprintf("The %s has %d leaves: below %d a pinion doesn’t carry the drive from leaf to leaf.", what,
			n, least)
	case n < least || n > most:
		bad[field] = fmt.Sprintf("The %s has %d %s; from %d to %d are practical.", what, n, of, least, most)
	}
}

// judgeDrives adds what is wrong with the drives of the hands.
func (t Train) judgeDrives(bad map[string]string) {
	if t.Seconds.Layout == CentreDirect && !t.hasFourth() {
		bad["seconds"] = "There is no fourth wheel to carry the seconds hand."
	}
	if t.Seconds.Layout == CentreIndirect {
		t.judgeDrive(bad, "seconds", t.Seconds.Drive)
	}
	if t.Minute != nil {
		t.judgeDrive(bad, "minute", *t.Minute)
	}
}

func (t Train) judgeDrive(bad map[string]string, field string, d HandDrive) {
	if d.Arbor < 2 || d.Arbor > len(t.Stages)+2 {
		bad[field] = fmt.Sprintf("The train has no %s arbor to drive the %s hand.", ordinal(d.Arbor), field)
		return
	}
	for _, n := range []int{d.Wheel, d.Pinion} {
		if n < MinLeaves || n > MaxTeeth {
			bad[field] = fmt.Sprintf("The %s hand’s drive has a count of %d; from %d to %d are practical.", field, n, MinLeaves,
				MaxTeeth)
		}
	}
	if d.Idler != 0 && (d.Idler < MinLeaves || d.Idler > MaxTeeth) {
		bad[field] = fmt.Sprintf("The intermediate wheel has a count of %d; from %d to %d are practical.", d.Idler, MinLeaves,
			MaxTeeth)
	}
}

// Remarks says, as sentences, what is unusual about a train that has no Problems: a beat that watches aren't made for,
// a seconds hand that doesn't turn once a minute or runs backwards, an escape wheel outside the usual.
func (t Train) Remarks() []string {
	var says []string
	if beats := t.Beats(); !IsUsualBeat(beats) {
		says = append(says, fmt.Sprintf("%s beats per hour is none of the usual (%s): check the counts and which pinion "+
			"each wheel drives.",
			Words(beats), usualWords()))
	}
	if hand, ok := t.SecondsHand(); ok {
		if hand.TurnsPerHour.Cmp(big.NewRat(60, 1)) != 0 {
			says = append(says, fmt.Sprintf("The %s turns %s times an hour, not 60: it can’t carry a seconds hand.", hand.On,
				Words(hand.TurnsPerHour)))
		}
		if !hand.Clockwise {
			says = append(says, "The seconds hand runs backwards: one mesh too many or too few.")
		}
	}
	if t.EscapeTeeth < UsualLeastEscapeTeeth || t.EscapeTeeth > UsualMostEscapeTeeth {
		says = append(says, fmt.Sprintf("An escape wheel of %d is no watch’s: those have %d to %d teeth.",
			t.EscapeTeeth, UsualLeastEscapeTeeth, UsualMostEscapeTeeth))
	}
	return says
}

func usualWords() string {
	var words []string
	for _, b := range UsualBeats() {
		words = append(words, fmt.Sprint(b))
	}
	return strings.Join(words, ", ")
}
