// Package metrology keeps a measured figure together with its unit and its uncertainty, combines such figures,
// and decides from them whether a limit is met.
//
// Sources: JCGM 100:2008 (Guide to the expression of uncertainty in measurement, "the GUM") and JCGM 106:2012
// (the role of measurement uncertainty in conformity assessment); NIST SP 1065 (2008) for the stability of frequencies.
//
// Functions panic on a caller's mistake (a negative or non-finite uncertainty, crossed limits). Figures that come
// from outside are to be checked first with Value.Check or Limits.Check, which return errors in plain words.
package metrology
