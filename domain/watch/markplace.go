package watch

import (
	"fmt"
	"math"
)

// The outline on which marks are placed: three wide and four high, the dial in its middle, in units of its width.
const (
	outlineAspect = 4.0 / 3
	dialRadius    = 88.0 / 480
	caseRadius    = 140.0 / 480
)

// PlaceWords says where on the outline m lies, as one looks at the watch with 12 up: by the hour that it lies towards.
// It is "" where no place was pointed at.
func (m ConditionMark) PlaceWords() string {
	if !m.Placed {
		return ""
	}
	dx, dy := m.X-0.5, (0.5-m.Y)*outlineAspect // to the right, and up
	far := math.Hypot(dx, dy)
	if far < dialRadius/4 {
		return "in the middle"
	}
	hour := int(math.Round(math.Atan2(dx, dy)/(math.Pi/6)+12)) % 12
	if hour == 0 {
		hour = 12
	}
	switch {
	case far < dialRadius*0.7:
		return fmt.Sprintf("towards %d o'clock", hour)
	case far <= caseRadius*1.1:
		return fmt.Sprintf("at %d o'clock", hour)
	}
	return fmt.Sprintf("beyond %d o'clock", hour)
}

// PlacedWords describes a mark on a part that is known: what it is, its note, and where.
func (m ConditionMark) PlacedWords() string {
	words := m.Kind.Words()
	if m.Note != "" {
		words += ", " + m.Note
	}
	if at := m.PlaceWords(); at != "" {
		words += ", " + at
	}
	return words
}
