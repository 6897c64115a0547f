// Package oscillator reads a watch's faults from its rates: the poise of the balance, the hairspring's own error,
// isochronism, the difference of lying and hanging rates, beat, temperature. It fits one model to the runs of a docket,
// keeps the order an adjuster keeps, and says what rates to expect after a correction.
//
// The model of one reading, rates in s/d, amplitude A from rest to turning point:
//
//	rate = base + slope·(A − 270°)/100° + [lying]·(horizontal ± side/2)
//	     + [hanging]·(−86400·S·cos(b)·J1(A)/A + K·cos(c) + L·cos(d)·J0(A)/J0(220°)) + clock
//
// with S = m·g·r/k the heavy spot's greatest torque over the spring's stiffness, b its angle from straight up with the
// balance at rest, and A in radians inside the Bessel functions. The heavy spot's term is the first-order average of
// I·φ″ = −k·φ − m·g·r·sin(φ + δ), δ = 180° − b the angle from straight down; its error is of the order
// 86400·S² s/d (Krylov and Bogoliubov's method of averaging; the tests integrate the equation itself). K and L are the
// spring's own error in positions: that of a spring out of centre or flat, and that of its point of attachment. An
// elastic spiral, clamped at both ends and hanging under its own weight, follows the sum of the three terms to one part
// in a hundred from 120° to 330° (package madeup).
//
// What nobody knows beforehand is averaged over: the lift angle's error, which scales every amplitude; how well a rate
// repeats; how large heavy spots and spring errors are. A statement is made only where that average carries it, and
// metal is spoken of only when all that comes before is settled.
//
// Findings are likely causes with their evidence. None of them is a certainty, and none replaces looking.
package oscillator
