package chart

import "math"

// box is a rectangle on the drawing.
type box struct{ left, top, right, bottom float64 }

func (b box) overlaps(o box) bool {
	return b.left < o.right && o.left < b.right && b.top < o.bottom && o.top < b.bottom
}

func (b box) inside(o box) bool {
	return b.left >= o.left && b.right <= o.right && b.top >= o.top && b.bottom <= o.bottom
}

func markBox(x, y float64) box {
	return box{x - markRadius, y - markRadius, x + markRadius, y + markRadius}
}

// placement is where a label stands; led says that it is too far from its mark to belong to it without a line.
type placement struct {
	box
	led bool
}

func (p placement) middleX() float64 { return (p.left + p.right) / 2 }
func (p placement) middleY() float64 { return (p.top + p.bottom) / 2 }

// labelPlacer finds room for labels beside their marks.
type labelPlacer struct {
	bounds box
	taken  []box // never written over
	spared []box // written over only where there is no other room
}

// rings is how far out a label may stand from its mark; beyond it the description alone names the point.
const rings = 4

// place finds a place for a label of the given width about x, y, the nearest that is free: first clear of bars too.
func (l *labelPlacer) place(x, y, width float64) (placement, bool) {
	for ring := range rings {
		for _, b := range around8(x, y, width, ring) {
			if b.inside(l.bounds) && clearOf(b, l.taken) && clearOf(b, l.spared) {
				return l.take(b, ring)
			}
		}
		for _, b := range around8(x, y, width, ring) {
			if b.inside(l.bounds) && clearOf(b, l.taken) {
				return l.take(b, ring)
			}
		}
	}
	return placement{}, false
}

func (l *labelPlacer) take(b box, ring int) (placement, bool) {
	l.taken = append(l.taken, b)
	return placement{box: b, led: ring > 0}, true
}

// around8 returns the places about x, y at one distance: right, left, above and below, then between them.
func around8(x, y, width float64, ring int) []box {
	const height = smallSize + 1
	var places []box
	for _, eighth := range []int{0, 4, 6, 2, 7, 5, 1, 3} { // of a turn, clockwise from right
		angle := 2 * math.Pi * float64(eighth) / 8
		out := markRadius + 2 + float64(ring)*14
		cx, cy := x+math.Cos(angle)*(out+width/2), y+math.Sin(angle)*(out+height/2)
		places = append(places, box{cx - width/2, cy - height/2, cx + width/2, cy + height/2})
	}
	return places
}

// clearOf reports whether b touches none of the others.
func clearOf(b box, others []box) bool {
	for _, o := range others {
		if b.overlaps(o) {
			return false
		}
	}
	return true
}
