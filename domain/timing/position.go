package timing

import (
	"fmt"
	"strconv"
	"strings"
)

// Position is the symbol of a test position by ISO 3158: CH dial up (cadran haut), FH dial down (fond haut), and for
// the vertical positions the hour mark that is uppermost.
type Position string

// The six positions. The symbols are those of ISO 3158:1976 as digests of ISO 3159 give them; the standard's own
// table was not at hand.
const (
	DialUp   Position = "CH"
	DialDown Position = "FH"
	ThreeUp  Position = "3H"
	SixUp    Position = "6H"
	NineUp   Position = "9H"
	TwelveUp Position = "12H"
)

// Crown hours of common watches.
const (
	CrownAtThree  = 3  // wristwatch, and hunter pocket watch
	CrownAtTwelve = 12 // open-face pocket watch
)

// Positions returns the six positions in the order of the grid: dial up, dial down, then by hour.
func Positions() []Position {
	return []Position{DialUp, DialDown, ThreeUp, SixUp, NineUp, TwelveUp}
}

// ParsePosition reads a symbol, in either case and with blanks around it.
func ParsePosition(text string) (Position, error) {
	p := Position(strings.ToUpper(strings.TrimSpace(text)))
	if !p.Valid() {
		return "", fmt.Errorf("%q is not a position: use CH, FH, 3H, 6H, 9H or 12H", text)
	}
	return p, nil
}

// Valid reports whether p is one of the six positions.
func (p Position) Valid() bool {
	switch p {
	case DialUp, DialDown, ThreeUp, SixUp, NineUp, TwelveUp:
		return true
	}
	return false
}

// Horizontal reports whether the balance staff stands upright: CH and FH.
func (p Position) Horizontal() bool { return p == DialUp || p == DialDown }

// Vertical reports whether the balance staff lies level: 3H, 6H, 9H and 12H.
func (p Position) Vertical() bool { return p.Valid() && !p.Horizontal() }

// UppermostHour returns the hour mark that is uppermost; ok is false in the horizontal positions.
func (p Position) UppermostHour() (hour int, ok bool) {
	if !p.Vertical() {
		return 0, false
	}
	hour, err := strconv.Atoi(strings.TrimSuffix(string(p), "H"))
	return hour, err == nil
}

// degreesPerHour is the angle between two hour marks of the dial.
const degreesPerHour = 30

// CrownBearingDeg returns where the crown points in a vertical position, in degrees clockwise from straight up as
// seen from the dial side, 0 to 330:
//
//	bearing = (crown hour - uppermost hour) × 30
//
// ok is false in a horizontal position, or if crownHour is not 1 to 12.
func (p Position) CrownBearingDeg(crownHour int) (deg int, ok bool) {
	hour, vertical := p.UppermostHour()
	if !vertical || crownHour < 1 || crownHour > 12 {
		return 0, false
	}
	return (crownHour - hour + 12) % 12 * degreesPerHour, true
}

// bearingWords name the twelve directions a crown can point in, clockwise from up. Between two main directions the
// nearer one stands first.
var bearingWords = [12]string{
	"up", "up-right", "right-up", "right", "right-down", "down-right",
	"down", "down-left", "left-down", "left", "left-up", "up-left",
}

// Words returns the position in plain words for a watch with its crown at crownHour (1 to 12), seen from the dial
// side: "dial up", "dial down", "crown left". A crown between two main directions is said nearer one first:
// with the crown at 4, 3H is "crown up-right". Without a crown hour (0) a vertical position is said by its hour
// mark: "3 o'clock up".
func (p Position) Words(crownHour int) string {
	switch p {
	case DialUp:
		return "dial up"
	case DialDown:
		return "dial down"
	}
	if deg, ok := p.CrownBearingDeg(crownHour); ok {
		return "crown " + bearingWords[deg/degreesPerHour]
	}
	if hour, ok := p.UppermostHour(); ok {
		return fmt.Sprintf("%d o'clock up", hour)
	}
	return string(p)
}

// among returns the members of set, in grid order, that keep holds for; each once.
func among(set []Position, keep func(Position) bool) []Position {
	var out []Position
	for _, p := range Positions() {
		for _, q := range set {
			if p == q && keep(p) {
				out = append(out, p)
				break
			}
		}
	}
	return out
}
