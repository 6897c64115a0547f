package listening

import (
	"fmt"

	"ledgerwheel/domain/acoustic"
)

// Wheel is how many teeth the escape wheel has, and whence that is known.
type Wheel struct {
	Teeth int
	From  WheelFrom
}

// WheelFrom says whence the number of teeth is known.
type WheelFrom string

// Whence it may be known.
const (
	WheelOfCalibre WheelFrom = "calibre" // the calibre's train
	WheelHeard     WheelFrom = "heard"   // a pattern of so many teeth stands out of the beats
	WheelAssumed   WheelFrom = "assumed" // the commonest number
)

// WheelOf chooses the number of teeth: the calibre's, or else the one that was heard, or else 15, by far the commonest
// in lever watches (common practice). calibreTeeth is 0 where the calibre's train is not on record.
func WheelOf(calibreTeeth int, heard *acoustic.WheelPattern) Wheel {
	switch {
	case calibreTeeth > 0:
		return Wheel{calibreTeeth, WheelOfCalibre}
	case heard != nil && heard.Teeth > 0:
		return Wheel{heard.Teeth, WheelHeard}
	}
	return Wheel{usualTeeth, WheelAssumed}
}

// Text says the number and whence it is known.
func (w Wheel) Text() string {
	switch w.From {
	case WheelOfCalibre:
		return fmt.Sprintf("%d teeth by the calibre", w.Teeth)
	case WheelHeard:
		return fmt.Sprintf("%d teeth by the pattern heard", w.Teeth)
	}
	return fmt.Sprintf("%d teeth assumed", w.Teeth)
}
