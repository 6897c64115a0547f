package warranty

import (
	"bytes"
	"compress/flate"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"io"
	"math"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/tongue"
)

const (
	proofVersion = 1
	recordBytes  = 16
	proofFixed   = 60 // bytes before the rates
	maxTexts     = 8 << 10
)

// Flags of a code.
const (
	flagRates    = 1 << 12 // not all rates of the record are here
	flagDeflated = 1 << 15
)

// proofPositions are what a rate's position is counted in: the symbols of ISO 3158.
var proofPositions = []string{"CH", "FH", "3H", "6H", "9H", "12H"}

// ProofPart is a part of a code that may be shortened or left out.
type ProofPart string

// The parts of a code: its texts, and the rates beyond those that it has room for.
const (
	PartShop      ProofPart = "shop"
	PartPlace     ProofPart = "place"
	PartMaker     ProofPart = "maker"
	PartModel     ProofPart = "model"
	PartReference ProofPart = "reference"
	PartCalibre   ProofPart = "calibre"
	PartCase      ProofPart = "case"
	PartMovement  ProofPart = "movement"
	PartVerdict   ProofPart = "verdict"
	PartWind      ProofPart = "wind"
	PartWork      ProofPart = "work"
	PartCovers    ProofPart = "covers"
	PartRates     ProofPart = "rates"
)

// The texts of a code, in their order.
var proofTexts = []ProofPart{PartShop, PartPlace, PartMaker, PartModel, PartReference, PartCalibre, PartCase, PartMovement, PartVerdict,
	PartWind, PartWork, PartCovers}

// ProofParts are the parts of a code by the bits of its flags: its texts in their order, then further rates.
func ProofParts() []ProofPart { return append(slices.Clone(proofTexts), PartRates) }

// Words name p within a sentence.
func (p ProofPart) Words(in tongue.Tongue) string { return in.Say("proof.part." + string(p)) }

const (
	textVerdict = 8
	textWork    = 10
	textCovers  = 11
)

// proofBody is what a card's code states, big-endian:
//
//	offset  bytes
//	0       1      1, the version of this layout
//	1       8      key: the first bytes of the SHA-256 of the public key
//	9       10     the card's number: 16 characters of base32, decoded
//	19      4      moment of issue, seconds since 1970-01-01T00:00:00Z
//	23      2      first day of the warranty, days since 1970-01-01
//	25      2      last day
//	27      2      year of the docket's number
//	29      3      its sequence
//	32      16     the first bytes of the SHA-256 of [Card.Payload]
//	48      2      flags: bit i (from the least) says that text i is not whole here, 12 that rates of the record are not
//	               here, 15 that the texts are compressed; the others are 0
//	50      9      mean, delta and expanded uncertainty (k = 2) of a rate, 3 bytes each, signed, 0.001 s/d
//	59      1      number of rates, up to 6
//	60      6 each position (0 CH, 1 FH, 2 3H, 3 6H, 4 9H, 5 12H); rate, 3 bytes, signed, 0.001 s/d; amplitude, 2 bytes, 0.1°,
//	               0 if not measured
//	        rest   twelve texts in UTF-8 joined by zero bytes, as they are or compressed by DEFLATE (RFC 1951): shop, place,
//	               maker, model, reference, calibre, case number, movement number, verdict on the final run, state of wind,
//	               work done (lines joined by line feeds), what it covers
//
// A text that is not whole ends in … where it is shortened, and is empty where it is left out. The signature, 64 bytes,
// is Ed25519 (RFC 8032) over the ASCII text "ledgerwheel/warranty-card-code/1" and these bytes, and follows them. The
// whole is written in base32 (RFC 4648) without padding.
//
// What does not fit in [MaxProofBytes] is shortened in the order of [shortened].
func proofBody(id KeyID, c Card) []byte {
	var body []byte
	for step := 0; ; step++ {
		body = proofOf(id, c, step)
		if len(body)+64 <= MaxProofBytes || step == lastStep {
			return body
		}
	}
}

const lastStep = 4

// shortened are the texts of a card at a step of shortening, and which of them are not whole. The terms go first, as
// most shops have one wording, then the lines of work; names are cut last and never left out.
func shortened(c Card, step int) (texts []string, notWhole uint16) {
	wind := ""
	if len(c.Final.Rates) > 0 {
		wind = c.Final.Rates[0].Wind
	}
	texts = []string{c.Shop.Name, c.Shop.Place, c.Watch.Maker, c.Watch.Model, c.Watch.Reference, c.Watch.Calibre,
		c.Watch.CaseSerial, c.Watch.MovementSerial, c.Final.Verdict, wind, strings.Join(c.WorkDone, "\n"), c.Covers}
	most := [lastStep + 1]int{0, 0, 0, 36, 20}[step] // bytes of a name; 0 for any
	for i, whole := range texts {
		switch {
		case i == textCovers && step >= 1, i == textWork && step >= 2, i == textVerdict && step >= 3:
			texts[i] = ""
		case most > 0:
			texts[i] = cut(whole, most)
		}
		if texts[i] != whole {
			notWhole |= 1 << i
		}
	}
	return texts, notWhole
}

// cut shortens a text to at most n bytes of UTF-8, its mark included.
func cut(s string, n int) string {
	const mark = "\u2026"
	if len(s) <= n {
		return s
	}
	end := n - len(mark)
	for !utf8.RuneStart(s[end]) {
		end--
	}
	return s[:end] + mark
}

func proofOf(id KeyID, c Card, step int) []byte {
	key, _ := hex.DecodeString(string(id))
	number, _ := codeText.DecodeString(string(c.Code))
	sum := sha256.Sum256(c.Payload())
	texts, flags := shortened(c, step)
	rates := provenRates(c.Final)
	if len(rates) != len(c.Final.Rates) {
		flags |= flagRates
	}
	joined := []byte(strings.Join(texts, "\x00"))
	if small := deflated(joined); len(small) < len(joined) {
		joined, flags = small, flags|flagDeflated
	}
	b := append([]byte{proofVersion}, key...)
	b = append(b, number...)
	b = binary.BigEndian.AppendUint32(b, uint32(c.IssuedAt.Unix()))
	b = binary.BigEndian.AppendUint16(b, proofDay(c.StartsOn))
	b = binary.BigEndian.AppendUint16(b, proofDay(c.ExpiresOn))
	b = binary.BigEndian.AppendUint16(b, uint16(c.Docket.Year))
	b = append(b, byte(c.Docket.Seq>>16), byte(c.Docket.Seq>>8), byte(c.Docket.Seq))
	b = append(b, sum[:recordBytes]...)
	b = binary.BigEndian.AppendUint16(b, flags)
	for _, f := range []float64{c.Final.MeanSPerDay, c.Final.DeltaSPerDay, c.Final.USPerDay} {
		b = appendMilli(b, f)
	}
	b = append(b, byte(len(rates)))
	for _, r := range rates {
		b = append(b, byte(slices.Index(proofPositions, r.Position)))
		b = appendMilli(b, r.RateSPerDay)
		b = binary.BigEndian.AppendUint16(b, uint16(min(math.Round(max(0, r.AmplitudeDeg)*10), math.MaxUint16)))
	}
	return append(b, joined...)
}

// provenRates are the rates that a code holds: one a position, at the state of wind of the first.
func provenRates(f Final) []Rate {
	var list []Rate
	for _, r := range f.Rates {
		seen := slices.ContainsFunc(list, func(o Rate) bool { return o.Position == r.Position })
		if !seen && slices.Contains(proofPositions, r.Position) && r.Wind == f.Rates[0].Wind {
			list = append(list, r)
		}
	}
	return list
}

// appendMilli adds a figure in thousandths as three bytes, signed; what is beyond them is held at their end.
func appendMilli(b []byte, f float64) []byte {
	const most = 1<<23 - 1
	n := int32(max(-most, min(most, math.Round(f*1000))))
	return append(b, byte(n>>16), byte(n>>8), byte(n))
}

func proofDay(t time.Time) uint16 { return uint16(t.Unix() / 86400) }

func deflated(b []byte) []byte {
	var out bytes.Buffer
	w, err := flate.NewWriter(&out, flate.BestCompression)
	if err != nil {
		return b
	}
	w.Write(b)
	if w.Close() != nil {
		return b
	}
	return out.Bytes()
}

// proofKey names the key of a body that has at least its fixed part.
func proofKey(body []byte) KeyID { return KeyID(hex.EncodeToString(body[1:9])) }

// readProof reads what [proofBody] wrote. It returns [ErrProofShape].
func readProof(body []byte) (Proof, error) {
	r := proofReader{rest: body[9:]}
	p := Proof{KeyID: proofKey(body)}
	p.Card.Code = Code(codeText.EncodeToString(r.take(codeBytes)))
	p.Card.IssuedAt = time.Unix(int64(r.number(4)), 0).UTC()
	p.Card.StartsOn, p.Card.ExpiresOn = r.day(), r.day()
	p.Card.Docket = docket.Number{Year: r.number(2), Seq: r.number(3)}
	copy(p.Record[:], r.take(recordBytes))
	flags := r.number(2)
	p.Card.Final = Final{MeanSPerDay: r.milli(), DeltaSPerDay: r.milli(), USPerDay: r.milli()}
	n := r.number(1)
	if n > len(proofPositions) {
		return Proof{}, ErrProofShape
	}
	for range n {
		position := r.number(1)
		if position >= len(proofPositions) {
			return Proof{}, ErrProofShape
		}
		p.Card.Final.Rates = append(p.Card.Final.Rates, Rate{Position: proofPositions[position], RateSPerDay: r.milli(),
			AmplitudeDeg: float64(r.number(2)) / 10})
	}
	if r.short {
		return Proof{}, ErrProofShape
	}
	return p, p.readTexts(r.rest, flags)
}

func (p *Proof) readTexts(raw []byte, flags int) error {
	if flags&flagDeflated != 0 {
		var err error
		if raw, err = io.ReadAll(io.LimitReader(flate.NewReader(bytes.NewReader(raw)), maxTexts)); err != nil {
			return ErrProofShape
		}
	}
	t := strings.Split(string(raw), "\x00")
	if len(t) != len(proofTexts) || !utf8.Valid(raw) {
		return ErrProofShape
	}
	c := &p.Card
	c.Shop = Shop{Name: t[0], Place: t[1]}
	c.Watch = Watch{Maker: t[2], Model: t[3], Reference: t[4], Calibre: t[5], CaseSerial: t[6], MovementSerial: t[7]}
	c.Final.Verdict, c.Covers = t[textVerdict], t[textCovers]
	if t[textWork] != "" {
		c.WorkDone = strings.Split(t[textWork], "\n")
	}
	for i := range c.Final.Rates {
		c.Final.Rates[i].Wind = t[9]
	}
	for i, name := range proofTexts {
		switch {
		case flags&(1<<i) == 0:
		case t[i] == "":
			p.Absent = append(p.Absent, name)
		default:
			p.Short = append(p.Short, name)
		}
	}
	if flags&flagRates != 0 {
		p.Absent = append(p.Absent, PartRates)
	}
	return nil
}

// proofReader takes fields off a body; short says that one was not there.
type proofReader struct {
	rest  []byte
	short bool
}

func (r *proofReader) take(n int) []byte {
	if len(r.rest) < n {
		r.short, r.rest = true, nil
		return make([]byte, n)
	}
	field := r.rest[:n]
	r.rest = r.rest[n:]
	return field
}

func (r *proofReader) number(bytes int) (n int) {
	for _, b := range r.take(bytes) {
		n = n<<8 | int(b)
	}
	return n
}

// milli is a figure of three bytes, signed, in thousandths.
func (r *proofReader) milli() float64 { return float64(int32(r.number(3)<<8)>>8) / 1000 }

func (r *proofReader) day() time.Time { return time.Unix(int64(r.number(2))*86400, 0).UTC() }
