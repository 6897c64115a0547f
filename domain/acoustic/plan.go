package acoustic

import (
	"sync"

	"gonum.org/v1/gonum/dsp/fourier"
)

// plan is what a Fourier transform of one length needs.
type plan struct {
	fft          *fourier.FFT
	padded       []float64
	coefficients []complex128
}

// planCache keeps plans between transforms: making one takes about as long as using it. Lengths come from
// transformLength, so that they are few.
type planCache struct {
	mu       sync.Mutex
	byLength map[int]*sync.Pool
}

var plans planCache

// take returns a plan that nobody else has.
func (c *planCache) take(n int) *plan {
	c.mu.Lock()
	defer c.mu.Unlock()
	pool := c.byLength[n]
	if pool == nil {
		if c.byLength == nil {
			c.byLength = map[int]*sync.Pool{}
		}
		pool = &sync.Pool{New: func() any {
			return &plan{fft: fourier.NewFFT(n), padded: make([]float64, n), coefficients: make([]complex128, n/2+1)}
		}}
		c.byLength[n] = pool
	}
	return pool.Get().(*plan)
}

// give takes the plan back.
func (c *planCache) give(p *plan) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.byLength[len(p.padded)].Put(p)
}
