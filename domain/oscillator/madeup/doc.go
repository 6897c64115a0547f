// Package madeup makes watches whose faults are known, and what a bench reads from them, from the mechanics of balance
// and spring. It is for tests of what advises: only tests import it.
//
// The balance swings undamped in the potential of its spring, of gravity on a heavy spot and of gravity on the spring's
// own coils; its period is integrated over the whole swing (swing.go), and the shape of the coils at each angle solved
// as an elastic rod's (elastic.go). Nothing of the estimator is imported and no code is shared with it: what tests it
// has to be independent of it.
//
// Angles handed in and out are degrees; heavy spots and directions count clockwise from 12 o'clock as seen from the
// dial side, balance at rest. Rates are s/d, gains positive; amplitudes are half the full swing. A heavy spot is m·g·r
// over the stiffness of the spring, in ppm, and counts what of the spring's weight acts as one. What is said to be
// common practice is that; the sizes of faults that are drawn are invented. All chance comes from the generator that is
// handed in.
package madeup
