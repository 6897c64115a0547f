package demoshop

import (
	"image"
	"image/color"
	"image/draw"
	"math"

	"golang.org/x/image/vector"
)

// The size of the drawn photographs, in pixels.
const (
	pictureWidthPx  = 1024
	pictureHeightPx = 768
)

// pt is a point of a picture, pixels right and down from its top left corner.
type pt struct{ x, y float64 }

// polar is the point at a distance from p in the direction of the hour of a dial with 12 uppermost.
func (p pt) polar(radius, hour float64) pt {
	a := hour * math.Pi / 6
	return pt{p.x + radius*math.Sin(a), p.y - radius*math.Cos(a)}
}

// easel is a picture while it is drawn. Shapes are filled with smooth edges and may be translucent.
type easel struct {
	img *image.RGBA
	z   vector.Rasterizer
}

// newEasel is a sheet of ruled ledger paper under a lamp that hangs at the upper left.
func newEasel() *easel {
	e := &easel{img: image.NewRGBA(image.Rect(0, 0, pictureWidthPx, pictureHeightPx))}
	for y := range pictureHeightPx {
		row := e.img.Pix[y*e.img.Stride:]
		dy := (float64(y) - 250) / pictureHeightPx
		for x := range pictureWidthPx {
			dx := (float64(x) - 330) / pictureWidthPx
			light := 1.02 - 0.30*(dx*dx+dy*dy)
			if y%48 == 30 {
				light -= 0.07
			}
			row[4*x], row[4*x+1], row[4*x+2], row[4*x+3] = lit(236, light), lit(228, light), lit(211, light), 255
		}
	}
	return e
}

func lit(v, light float64) uint8 { return uint8(max(0, min(255, v*light))) }

// paint is a colour of no, some or full opacity.
func paint(hex uint32, opacity float64) color.RGBA {
	r, g, b := float64(hex>>16&255), float64(hex>>8&255), float64(hex&255)
	// Multiplied by the opacity, as package image wants it.
	return color.RGBA{uint8(r * opacity), uint8(g * opacity), uint8(b * opacity), uint8(255 * opacity)}
}

func solid(hex uint32) color.RGBA { return paint(hex, 1) }

// shade is a colour made lighter or darker by a factor.
func shade(hex uint32, light float64) color.RGBA {
	return color.RGBA{lit(float64(hex>>16&255), light), lit(float64(hex>>8&255), light), lit(float64(hex&255), light), 255}
}

// fill fills the area that the outlines enclose; an outline run the other way round cuts a hole.
func (e *easel) fill(c color.RGBA, outlines ...[]pt) {
	box := image.Rectangle{}
	for i, line := range outlines {
		for k, p := range line {
			at := image.Rect(int(math.Floor(p.x)), int(math.Floor(p.y)), int(math.Ceil(p.x))+1, int(math.Ceil(p.y))+1)
			if i == 0 && k == 0 {
				box = at
			}
			box = box.Union(at)
		}
	}
	visible := box.Intersect(e.img.Rect)
	if visible.Empty() {
		return
	}
	e.z.Reset(visible.Dx(), visible.Dy())
	e.z.DrawOp = draw.Over
	local := func(p pt) (x, y float32) {
		return float32(p.x) - float32(visible.Min.X), float32(p.y) - float32(visible.Min.Y)
	}
	for _, line := range outlines {
		for k, p := range line {
			x, y := local(p)
			if k == 0 {
				e.z.MoveTo(x, y)
			} else {
				e.z.LineTo(x, y)
			}
		}
		e.z.ClosePath()
	}
	e.z.Draw(e.img, visible, image.NewUniform(c), image.Point{})
}

// disc is the outline of a circle.
func disc(at pt, radius float64) []pt {
	n := max(16, int(radius*0.9))
	line := make([]pt, n)
	for i := range line {
		line[i] = at.polar(radius, 12*float64(i)/float64(n))
	}
	return line
}

// backwards is an outline run the other way round.
func backwards(line []pt) []pt {
	out := make([]pt, len(line))
	for i, p := range line {
		out[len(line)-1-i] = p
	}
	return out
}

// ring fills between two circles.
func (e *easel) ring(c color.RGBA, at pt, outer, inner float64) {
	e.fill(c, disc(at, outer), backwards(disc(at, inner)))
}

// turned fills a ring of turned metal: light and dark rays from the centre.
func (e *easel) turned(hex uint32, at pt, outer, inner, contrast float64) {
	const rays = 72
	for i := range rays {
		from, to := 12*float64(i)/rays, 12*(float64(i)+1.06)/rays
		a := from * math.Pi / 6
		light := 1 + contrast*(0.55*math.Cos(2*(a-0.8))+0.25*math.Cos(5*a+1))
		e.fill(shade(hex, light), []pt{at.polar(outer, from), at.polar(outer, to), at.polar(inner, to),
			at.polar(inner, from)})
	}
	e.ring(paint(0x211C16, 0.35), at, outer, outer-1.5)
	e.ring(paint(0xFFFFFF, 0.35), at, inner+2, inner)
}

// stroke draws a line of the given width through the points.
func (e *easel) stroke(c color.RGBA, width float64, line ...pt) {
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		length := math.Hypot(b.x-a.x, b.y-a.y)
		if length == 0 {
			continue
		}
		nx, ny := -(b.y-a.y)/length*width/2, (b.x-a.x)/length*width/2
		e.fill(c, []pt{{a.x + nx, a.y + ny}, {b.x + nx, b.y + ny}, {b.x - nx, b.y - ny}, {a.x - nx, a.y - ny}})
	}
}

// shadow is the soft shadow of something round that lies on the paper.
func (e *easel) shadow(at pt, radius float64) {
	const layers = 6
	for i := range layers {
		e.fill(paint(0x3A3022, 0.055), disc(pt{at.x + 10, at.y + 14}, radius+14-4*float64(i)))
	}
}

// gear is the outline of a toothed wheel.
func gear(at pt, radius, depth float64, teeth int, turn float64) []pt {
	line := make([]pt, 0, 4*teeth)
	for i := range teeth {
		for _, corner := range []struct{ at, r float64 }{{0, radius - depth}, {0.22, radius}, {0.5, radius},
			{0.72, radius - depth}} {
			line = append(line, at.polar(corner.r, turn+12*(float64(i)+corner.at)/float64(teeth)))
		}
	}
	return line
}

// wheel draws a toothed wheel with arms.
func (e *easel) wheel(hex uint32, at pt, radius float64, teeth, arms int, turn float64) {
	depth := max(3, radius*0.07)
	inner := radius - depth - radius*0.16
	e.fill(paint(0x211C16, 0.25), gear(pt{at.x + 3, at.y + 4}, radius, depth, teeth, turn),
		backwards(disc(pt{at.x + 3, at.y + 4}, inner)))
	e.fill(solid(hex), gear(at, radius, depth, teeth, turn), backwards(disc(at, inner)))
	e.ring(paint(0xFFFFFF, 0.30), at, inner+2.5, inner)
	for i := range arms {
		e.stroke(shade(hex, 0.95), radius*0.10, at, at.polar(inner+2, turn+12*float64(i)/float64(arms)))
	}
	e.fill(solid(hex), disc(at, radius*0.18))
}

// screw draws a screw's head with its slot.
func (e *easel) screw(at pt, radius, turn float64) {
	e.fill(paint(0x211C16, 0.4), disc(pt{at.x + 1.5, at.y + 2}, radius+1))
	e.turned(0xB9BEC4, at, radius, 0, 0.25)
	e.stroke(solid(0x3B3F44), radius*0.28, at.polar(radius*0.92, turn), at.polar(-radius*0.92, turn))
}

// jewel draws a ruby in its setting.
func (e *easel) jewel(at pt, radius float64) {
	e.turned(0xC8A24A, at, radius*1.45, radius, 0.2)
	e.fill(solid(0xA81E3C), disc(at, radius))
	e.fill(paint(0xF2A0B0, 0.55), disc(pt{at.x - radius*0.3, at.y - radius*0.35}, radius*0.38))
	e.fill(solid(0x2A0A10), disc(at, radius*0.22))
}

// coil draws a flat spring of so many turns from the inner radius to the outer.
func (e *easel) coil(c color.RGBA, width float64, at pt, inner, outer, turns, from float64) {
	n := int(turns * 60)
	line := make([]pt, n+1)
	for i := range line {
		t := float64(i) / float64(n)
		line[i] = at.polar(inner+(outer-inner)*t, from+12*turns*t)
	}
	e.stroke(c, width, line...)
}
