// Package simulate makes the sound of a lever watch in a room from the physics of its escapement, together with the
// true figures, for tests of what listens and for sounds to show with.
//
// The balance swings as θ(t) = A·sin(2πf·t), f being half the beats a second. The lever is unlocked when the balance
// stands half the lift angle before the line of centres and lets the next tooth drop when it stands half the lift
// angle behind it, so that unlocking and drop of a beat lie t apart with A = (λ/2)/sin(πf·t); the impulse is heard
// between. A balance at rest beside the line of centres makes the beat error. Each sound is a sum of damped
// resonances and a burst of noise, evaluated at the sample times as a continuous function of time, so that a sound may
// begin anywhere between two samples.
//
// The time of a sound is always that of its onset, the first instant at which it is not zero. Times handed out are
// seconds from the first sample by the recorder's clock. Rates are s/d, gains positive; angles degrees.
//
// The package imports nothing of the listener and shares no code with it: what tests the listener has to be
// independent of it. All chance comes from the seed.
package simulate
