package demoshop

import (
	"bytes"
	"context"
	"encoding/hex"
	"fmt"
	"image/jpeg"
	"sync"

	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/store/files"
)

// picture names one of the drawn photographs.
type picture string

// The photographs: watches from the front, movements, and parts.
const (
	steelCream    picture = "steel case, cream dial"
	steelBlack    picture = "steel case, black dial, scratched crystal"
	goldSilver    picture = "gold case, silver dial"
	pocketWhite   picture = "pocket watch, white dial, cracked crystal"
	diverBlue     picture = "steel case, turning bezel"
	smallGold     picture = "small gold case"
	fieldBlack    picture = "field watch, lumed dial, stained"
	movementHand  picture = "hand-wound movement"
	movementOld   picture = "old movement, oil dried"
	movementRotor picture = "automatic movement"
	partSpring    picture = "mainspring and barrel"
	partBalance   picture = "balance and spring"
	partSeals     picture = "seals and crown"
	backScratched picture = "case back"
)

var drawings = map[picture]func(*easel){
	steelCream: face{caseHex: 0xBDC2C7, dialHex: 0xF3EBD6, inkHex: 0x2B241B, handHex: 0x24456B, radius: 262,
		strapHex: 0x5A3B24,
		date:     true, hour: 10, minute: 9}.draw,
	steelBlack: face{caseHex: 0xBDC2C7, dialHex: 0x23272C, inkHex: 0xE9E4D6, handHex: 0xD9DCE0, radius: 268,
		bracelet: true,
		date:     true, hour: 8, minute: 22, wear: scratched}.draw,
	goldSilver: face{caseHex: 0xC9A24C, dialHex: 0xE3E0D6, inkHex: 0x8A6A2A, handHex: 0x8A6A2A, radius: 238,
		strapHex: 0x33261C,
		seconds:  true, hour: 4, minute: 37}.draw,
	pocketWhite: face{caseHex: 0xC4BFB2, dialHex: 0xF8F6EF, inkHex: 0x1D1A16, handHex: 0x24456B, radius: 292, romans: true,
		pocket:  true,
		seconds: true, hour: 7, minute: 51, wear: cracked}.draw,
	diverBlue: face{caseHex: 0xB3B9BF, dialHex: 0x1B2E46, inkHex: 0xD9DCE0, handHex: 0xE3E6EA, radius: 288, bezel: true,
		bracelet: true, dots: true,
		hour: 1, minute: 50}.draw,
	smallGold: face{caseHex: 0xCFAE62, dialHex: 0xEFE6D0, inkHex: 0x5F4A1E, handHex: 0x2B241B, radius: 168,
		strapHex: 0x2A2320,
		hour:     11, minute: 3}.draw,
	fieldBlack: face{caseHex: 0xA9ADB0, dialHex: 0x2A2B28, inkHex: 0xC9C2A0, handHex: 0xC9C2A0, radius: 246,
		strapHex: 0x6A5A3A, dots: true,
		seconds: true, hour: 2, minute: 14, wear: stained}.draw,
	movementHand:  movement{plateHex: 0xC7B27A, bridgeHex: 0xD5C793, stripes: true, cock: 4}.draw,
	movementOld:   movement{plateHex: 0xB59A5A, bridgeHex: 0xC2A866, cock: 8, worn: true}.draw,
	movementRotor: movement{plateHex: 0xAEB3B8, bridgeHex: 0xC6CACF, stripes: true, cock: 1.4, rotor: true}.draw,
	partSpring:    springOut, partBalance: balanceOut, partSeals: sealsOut, backScratched: caseBack,
}

// develop draws a photograph and makes it fit to keep, as an upload is.
func develop(p picture) (photo.Picture, error) {
	e := newEasel()
	drawings[p](e)
	var taken bytes.Buffer
	if err := jpeg.Encode(&taken, e.img, &jpeg.Options{Quality: 86}); err != nil {
		return photo.Picture{}, err
	}
	return photo.Process(taken.Bytes())
}

// darkroom develops photographs and keeps each for the next docket that shows the same.
type darkroom struct {
	uploads *files.Folder
	mu      sync.Mutex
	prints  map[picture]func() (photo.Picture, error)
}

// print returns the photograph, whose file is on the disk then. It may be asked from many sides at once.
func (d *darkroom) print(p picture) (photo.Picture, error) {
	d.mu.Lock()
	if d.prints == nil {
		d.prints = map[picture]func() (photo.Picture, error){}
	}
	once := d.prints[p]
	if once == nil {
		once = sync.OnceValues(func() (photo.Picture, error) { return d.keep(p) })
		d.prints[p] = once
	}
	d.mu.Unlock()
	return once()
}

func (d *darkroom) keep(p picture) (photo.Picture, error) {
	pic, err := develop(p)
	if err != nil {
		return pic, fmt.Errorf("photograph %q: %w", p, err)
	}
	sum, err := hex.DecodeString(pic.SHA256)
	if err != nil {
		return pic, err
	}
	for size, data := range map[files.Size][]byte{files.Full: pic.Full, files.Thumb: pic.Thumb} {
		if err := d.uploads.Put([32]byte(sum), size, data); err != nil {
			return pic, err
		}
	}
	return pic, nil
}

// developFor begins to develop the photographs of the steps still to be done, in their order, until ctx ends, and
// returns what waits for the end of it. What fails here is said where the photograph is wanted.
func (d *darkroom) developFor(ctx context.Context, steps []step) (wait func()) {
	var wanted []picture
	for _, s := range steps {
		if s.shows != "" && s.at.After(s.job.done) {
			wanted = append(wanted, s.shows)
		}
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		for _, p := range wanted {
			if ctx.Err() == nil {
				d.print(p)
			}
		}
	}()
	return func() { <-done }
}

// photographed adds a photograph to the docket.
func (j *job) photographed(by staff.Role, about photo.About, p picture, caption string) *job {
	j.then(by, func(ctx context.Context, f *filler, c store.Change) error {
		pic, err := f.darkroom.print(p)
		if err != nil {
			return err
		}
		_, err = f.store.AddPhotos(ctx, c, photo.Label{About: about, Caption: caption, CustomerSees: about != photo.OfWork},
			[]photo.Picture{pic})
		return err
	})
	j.steps[len(j.steps)-1].shows = p
	return j
}
