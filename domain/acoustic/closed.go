package acoustic

import "runtime"

// closedBlocks are blocks being heard, in order, where there are processors for more than one. What is made of them does
// not depend on how many there are: the first block in which a watch is heard tells the beats per hour of all later ones
// and is waited for, and the later ones know nothing of each other.
type closedBlocks []*hearing

// hearing is one block being heard.
type hearing struct {
	block blockToHear
	done  chan struct{}
	piece piece
	ok    bool
	panic any // what hearing it panicked with, for whoever waits for it
}

// hear hears a block and adds what was heard to g, now or later. Its shelf is given back.
func (c *closedBlocks) hear(b blockToHear, g *gathered) {
	most := runtime.GOMAXPROCS(0) - 1
	if most > 0 && b.settings.BeatsPerHour == 0 && g.beatsPerHour == 0 {
		most = 0
	}
	if most == 0 {
		c.gather(g, 0)
	}
	b.known = g.beatsPerHour
	h := &hearing{block: b, done: make(chan struct{})}
	*c = append(*c, h)
	if most == 0 {
		h.run()
	} else {
		go h.run()
	}
	c.gather(g, most)
}

func (h *hearing) run() {
	defer close(h.done)
	defer func() { h.panic = recover() }()
	h.piece, h.ok = h.block.hear()
	h.block.shelf.give()
}

// gather waits until no more than most blocks are being heard, and adds the others to g.
func (c *closedBlocks) gather(g *gathered, most int) {
	for len(*c) > most {
		h := (*c)[0]
		<-h.done
		(*c)[0] = nil
		*c = (*c)[1:]
		if h.panic != nil {
			panic(h.panic)
		}
		g.add(h.piece, h.ok)
	}
}

// blockToHear is a block and all that hearing it depends on.
type blockToHear struct {
	*shelf
	count    int // bins of the shelf that are heard
	rateHz   float64
	perBin   int
	startS   float64
	settings Settings
	known    float64 // beats per hour, as found before; 0 for none
}

// hear takes the beats from a block. A watch that sounds in less than half of it is sought in its halves and quarters.
func (b blockToHear) hear() (piece, bool) {
	for parts := 1; parts <= 4; parts *= 2 {
		each := b.count / parts
		if parts > 1 && float64(each) < leastPartS*binsPerS {
			break
		}
		for k := range parts {
			if p, ok := b.part(k*each, (k+1)*each); ok {
				p.rawNoise = rawNoise(b.raws[:b.count], b.perBin)
				return p, true
			}
		}
	}
	return piece{}, false
}

// leastPartS is the least length of a part of a block in which a watch is sought.
const leastPartS = 4

// part takes the beats from some bins of a block.
func (b blockToHear) part(from, to int) (piece, bool) {
	y := b.y[from*b.perBin : to*b.perBin]
	in := &block{rateHz: b.rateHz, binHz: b.rateHz / float64(b.perBin), y: y, bins: b.bins[from:to]}
	stated := b.settings.BeatsPerHour
	if stated == 0 {
		stated = b.known
	}
	h, ok := in.listen(stated, b.settings.LiftAngleDeg)
	if !ok {
		return piece{}, false
	}
	p, ok := in.fit(h, b.settings.LiftAngleDeg)
	if !ok {
		return piece{}, false
	}
	p.startS = b.startS + float64(from*b.perBin)/b.rateHz
	p.endS = p.startS + float64(len(y))/b.rateHz
	p.shift(p.startS)
	return p, true
}
