package warranty

import (
	"encoding/binary"
	"errors"
	"math"
	"slices"
	"strconv"
	"time"

	"ledgerwheel/domain/docket"
)

// payloadTag starts every signed payload, so that a signature can't be taken for one of another purpose
// and a later encoding can carry another number.
const payloadTag = "ledgerwheel/warranty-card/1"

const (
	dateLayout    = "2006-01-02"
	instantLayout = "2006-01-02T15:04:05.000000Z"
)

// ErrPayload reports bytes that are not a card's payload.
var ErrPayload = errors.New("not a warranty card's payload")

// Payload is the card as signed: these fields, each preceded by its length in bytes as a 32-bit big-endian
// number:
//
//	the text "ledgerwheel/warranty-card/1"; code; code superseded or empty; docket's year; docket's sequence;
//	shop's name; shop's place; maker; model; reference; calibre; case serial; movement serial;
//	number of lines of work done, then each line;
//	mean; delta; expanded uncertainty (s/d); verdict;
//	number of rates, then for each: position, wind, rate (s/d), amplitude (degrees);
//	time of issue as 2006-01-02T15:04:05.000000Z; first day and last day as 2006-01-02; covers
//
// Text is UTF-8, integers are decimal, and figures are the shortest decimal that reads back as the same IEEE
// 754 double (negative zero as 0). [ParsePayload] reads it back, so the payload and its signature
// are all that needs keeping. Only a card without [Card.Problems] may be signed.
func (c Card) Payload() []byte {
	var w fieldWriter
	w.text(payloadTag, string(c.Code), string(c.Supersedes))
	w.int(c.Docket.Year, c.Docket.Seq)
	w.text(c.Shop.Name, c.Shop.Place)
	w.text(c.Watch.Maker, c.Watch.Model, c.Watch.Reference, c.Watch.Calibre, c.Watch.CaseSerial, c.Watch.MovementSerial)
	w.int(len(c.WorkDone))
	w.text(c.WorkDone...)
	w.figure(c.Final.MeanSPerDay, c.Final.DeltaSPerDay, c.Final.USPerDay)
	w.text(c.Final.Verdict)
	w.int(len(c.Final.Rates))
	for _, r := range c.Final.Rates {
		w.text(r.Position, r.Wind)
		w.figure(r.RateSPerDay, r.AmplitudeDeg)
	}
	w.text(docket.Moment(c.IssuedAt).Format(instantLayout),
		c.StartsOn.UTC().Format(dateLayout), c.ExpiresOn.UTC().Format(dateLayout), c.Covers)
	return w.buf
}

// ParsePayload reads a payload. It returns an error wrapping [ErrPayload] for anything that [Card.Payload]
// would not have written byte for byte.
func ParsePayload(payload []byte) (Card, error) {
	r := fieldReader{rest: payload}
	if r.text() != payloadTag {
		return Card{}, ErrPayload
	}
	var c Card
	c.Code, c.Supersedes = Code(r.text()), Code(r.text())
	c.Docket = docket.Number{Year: r.int(), Seq: r.int()}
	c.Shop = Shop{Name: r.text(), Place: r.text()}
	c.Watch = Watch{Maker: r.text(), Model: r.text(), Reference: r.text(), Calibre: r.text(),
		CaseSerial: r.text(), MovementSerial: r.text()}
	for range r.count(maxLines) {
		c.WorkDone = append(c.WorkDone, r.text())
	}
	c.Final = Final{MeanSPerDay: r.figure(), DeltaSPerDay: r.figure(), USPerDay: r.figure(), Verdict: r.text()}
	for range r.count(maxRates) {
		c.Final.Rates = append(c.Final.Rates, Rate{Position: r.text(), Wind: r.text(),
			RateSPerDay: r.figure(), AmplitudeDeg: r.figure()})
	}
	c.IssuedAt = r.time(instantLayout)
	c.StartsOn, c.ExpiresOn = r.time(dateLayout), r.time(dateLayout)
	c.Covers = r.text()
	if r.bad || len(r.rest) > 0 || !slices.Equal(c.Payload(), payload) {
		return Card{}, ErrPayload
	}
	return c, nil
}

type fieldWriter struct{ buf []byte }

func (w *fieldWriter) text(fields ...string) {
	for _, f := range fields {
		w.buf = binary.BigEndian.AppendUint32(w.buf, uint32(len(f)))
		w.buf = append(w.buf, f...)
	}
}

func (w *fieldWriter) int(fields ...int) {
	for _, f := range fields {
		w.text(strconv.Itoa(f))
	}
}

func (w *fieldWriter) figure(fields ...float64) {
	for _, f := range fields {
		w.text(strconv.FormatFloat(f+0, 'g', -1, 64)) // adding 0 turns negative zero into zero
	}
}

// fieldReader reads what fieldWriter wrote. After the first fault it yields zero values and bad stays set.
type fieldReader struct {
	rest []byte
	bad  bool
}

func (r *fieldReader) text() string {
	if r.bad || len(r.rest) < 4 {
		r.bad = true
		return ""
	}
	n := uint64(binary.BigEndian.Uint32(r.rest))
	if n > uint64(len(r.rest)-4) {
		r.bad = true
		return ""
	}
	field := string(r.rest[4 : 4+n])
	r.rest = r.rest[4+n:]
	return field
}

func (r *fieldReader) int() int {
	n, err := strconv.Atoi(r.text())
	r.bad = r.bad || err != nil
	return n
}

func (r *fieldReader) count(limit int) int {
	n := r.int()
	if r.bad || n < 0 || n > limit {
		r.bad = true
		return 0
	}
	return n
}

func (r *fieldReader) figure() float64 {
	f, err := strconv.ParseFloat(r.text(), 64)
	r.bad = r.bad || err != nil || math.IsNaN(f) || math.IsInf(f, 0)
	return f
}

func (r *fieldReader) time(layout string) time.Time {
	t, err := time.Parse(layout, r.text())
	r.bad = r.bad || err != nil
	return t
}
