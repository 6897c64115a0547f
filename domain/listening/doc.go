// Package listening holds the rules of listening to a watch live: how samples that come in over a line that may break
// are counted, how much one listener may send, and how a watchmaker is led through the positions one after another.
//
// It has no clock and no line of its own: times and samples are handed to it.
package listening

import "time"

// Bounds of a session. They are far above what a bench needs, and low enough that whoever means harm gets no further
// than a shop's machine can bear.
const (
	// MostSpeed is how many times faster than real time sound is taken, so that what piled up while the line was down
	// can be caught up.
	MostSpeed = 4
	// MostCatchUpS is how many seconds of sound may come at once after a silence on the line.
	MostCatchUpS = 90
	// MostGapS is the longest piece of lost sound that is filled with silence; after a longer one listening begins anew.
	MostGapS = 120
	// MostSessionS is the longest session, in seconds of sound.
	MostSessionS = 12 * 3600
	// KeptFor is how long a session waits for its page after the line broke.
	KeptFor = 5 * time.Minute
	// IdleFor is how long a line may stay silent before it is taken as broken.
	IdleFor = 30 * time.Second
	// MostOfOnePerson and MostInAll bound the sessions.
	MostOfOnePerson, MostInAll = 2, 8
	// MostTakes is how many takes of a session are remembered: the six positions twice.
	MostTakes = 12
	// KeptSoundS is how much of the end of each take is held so that its sound can be kept, and KeptSoundSamples the
	// same whatever the rate: 60 s at 48 kHz, 30 s at 96 kHz. The sound of the last SoundTakes takes is held.
	KeptSoundS, KeptSoundSamples, SoundTakes = 60, 60 * 48000, 6
)
