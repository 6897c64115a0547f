// Package recorder knows the microphones a shop listens with, and how fast the sample clock of each runs.
//
// A recorder counts samples with a quartz of its own. Where that quartz runs fast it counts too many samples in a true
// second, and every watch heard by it seems to lose: one part in a million makes 0.0864 s/d. A calibration finds the
// error in parts per million, with its standard uncertainty, from one of
//
//   - the arrivals of reference pulses, one a second, or of the steps of a quartz watch whose rate is known
//     ([HearPulses], [FromPulses]);
//   - a long live session against the server's own clock ([ClockSession]);
//   - a figure found elsewhere.
//
// A calibration ages with its quartz: [Recorder.Clock] adds an allowance for ageing and temperature, and after
// a year it is to be made anew.
package recorder
