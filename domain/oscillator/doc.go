// Package oscillator reads a watch's faults from its rates: the poise of the balance, isochronism, the difference of
// lying and hanging rates, beat, temperature. It fits one model to all runs of a docket, ranks what it finds, and says
// what rates to expect after a correction.
//
// The model of one reading, rates in s/d, amplitude A from rest to turning point:
//
//	rate = base + slope·(A − 270°)/100° + [lying]·(horizontal ± side/2) − 86400·S·cos(b)·J1(A)/A + clock
//
// with S = m·g·r/k the heavy spot's greatest torque over the spring's stiffness, b its angle from straight up with the
// balance at rest, and A in radians inside J1(A)/A. The last term but one is the first-order average of
// I·φ″ = −k·φ − m·g·r·sin(φ + δ), δ = 180° − b the angle from straight down; its error is of the order
// 86400·S² s/d (Krylov and Bogoliubov's method of averaging; the tests integrate the equation itself).
//
// Findings are likely causes with their evidence. None of them is a certainty, and none replaces looking.
package oscillator
