package acoustic

// Listener takes the sound of a watch as it comes and says at any time what was heard so far. Its memory does not
// grow with the sound, but for some forty bytes a beat.
type Listener struct {
	settings Settings
	rateHz   float64
}

// NewListener returns a listener to one channel of sound of rateHz samples a second. It refuses, with a sentence for
// people, rates outside 8 to 384 kHz and settings outside of what a watch can be.
func NewListener(rateHz float64, s Settings) (*Listener, error) {
	return &Listener{settings: s, rateHz: rateHz}, nil
}

// Write takes the next samples, of full scale ±1. Samples that are not finite count as silence.
func (l *Listener) Write(samples []float32) {}

// Result returns what was heard so far. It returns ErrNoWatch where that is no watch. It may be called again as more
// sound comes; the slices of the result are its own.
func (l *Listener) Result() (Result, error) { return Result{}, ErrNoWatch }

// Analyse listens to one whole recording.
func Analyse(samples []float32, rateHz float64, s Settings) (Result, error) {
	l, err := NewListener(rateHz, s)
	if err != nil {
		return Result{}, err
	}
	l.Write(samples)
	return l.Result()
}
