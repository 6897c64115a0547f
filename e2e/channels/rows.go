package main

import "ledgerwheel/domain/acoustic/simulate"

// row is one way from the watch to the file.
type row struct {
	name    string
	channel simulate.Channel
	codec   codec
	// before is what the listener that took every beat for what it seemed made of the same sixty watches, and now what
	// this one makes of them.
	before, now counted
}

// counted is what was counted of sixty watches.
type counted struct {
	rate                 float64 // rms, s/d
	amplitude            float64 // median, degrees; 0: none given
	amplitudeOff         int     // beyond 5 degrees
	beatError            float64 // median, ms; 0: none given
	noAmplitude, noError int     // withheld
	refused, wrongBeats  int
	heldRate, heldAmp    float64 // shares within what is stated
	heldError            float64
}

// The room of a phone that lies beside the watch, and of one a metre off.
var (
	beside   = &simulate.Echo{DirectDB: 6, DecayS: 0.4}
	metreOff = &simulate.Echo{DirectDB: -6, DecayS: 0.4}
	riding   = &simulate.Riding{TargetDBFS: -26, AttackS: 0.005, EaseS: 0.4, GreatestGainDB: 20, LevelIntegrateS: 0.02}
)

var rows = []row{
	{"as recorded", simulate.Channel{}, codec{},
		counted{0.020, 0.27, 0, 0.0074, 0, 0, 0, 0, 58. / 59, 59. / 60, 57. / 60},
		counted{0.040, 0.32, 0, 0.0098, 1, 1, 0, 0, 57. / 59, 58. / 59, 57. / 59}},
	{"AAC 96 kbit/s", simulate.Channel{}, aac(96),
		counted{0.030, 0.53, 0, 0.0165, 0, 0, 0, 0, 57. / 59, 59. / 60, 55. / 60},
		counted{0.026, 0.42, 0, 0.0121, 1, 1, 0, 0, 58. / 59, 59. / 59, 57. / 59}},
	{"AAC 48 kbit/s", simulate.Channel{}, aac(48),
		counted{0.104, 3.93, 20, 0.1864, 11, 0, 0, 0, 56. / 59, 20. / 49, 28. / 60},
		counted{0.073, 0.95, 2, 0.0372, 11, 1, 0, 0, 58. / 59, 47. / 49, 57. / 59}},
	{"Opus 32 kbit/s", simulate.Channel{}, opus(32),
		counted{0.188, 7.11, 34, 0.1704, 7, 0, 0, 0, 49. / 59, 17. / 53, 29. / 60},
		counted{0.082, 1.17, 5, 0.0473, 11, 5, 0, 0, 56. / 59, 46. / 49, 55. / 55}},
	{"MP3 64 kbit/s", simulate.Channel{}, mp3(64),
		counted{0.019, 0.63, 0, 0.0247, 0, 0, 0, 0, 58. / 59, 52. / 60, 54. / 60},
		counted{0.038, 0.58, 0, 0.0185, 1, 0, 0, 0, 59. / 59, 58. / 59, 58. / 60}},
	{"300-3400 Hz at 8 kHz", simulate.Channel{LowHz: 300, HighHz: 3400, RateHz: 8000}, codec{},
		counted{0.996, 9.94, 26, 0.4025, 13, 0, 10, 1, 44. / 48, 23. / 36, 33. / 49},
		counted{0.154, 0, 0, 0, 53, 53, 3, 4, 50. / 52, 0, 0}},
	{"16 kHz", simulate.Channel{RateHz: 16000}, codec{},
		counted{0.061, 4.55, 25, 0.1945, 4, 0, 0, 0, 55. / 59, 30. / 56, 35. / 60},
		counted{0.042, 0.86, 2, 0.0350, 5, 7, 0, 1, 57. / 59, 52. / 54, 51. / 52}},
	{"room, beside", simulate.Channel{Echo: beside}, codec{},
		counted{0.028, 0.38, 5, 0.0128, 2, 0, 0, 0, 58. / 59, 50. / 58, 48. / 60},
		counted{0.031, 0.27, 0, 0.0123, 3, 1, 0, 0, 57. / 59, 57. / 57, 56. / 59}},
	{"room, a metre off", simulate.Channel{Echo: metreOff}, codec{},
		counted{0.155, 77.8, 31, 0.2126, 5, 0, 2, 13, 36. / 44, 9. / 40, 26. / 45},
		counted{0.117, 0.97, 4, 0.0256, 19, 14, 0, 2, 53. / 57, 38. / 39, 42. / 44}},
	{"automatic gain", simulate.Channel{Riding: riding}, codec{},
		counted{0.051, 0.31, 0, 0.0121, 0, 0, 0, 0, 57. / 59, 60. / 60, 55. / 60},
		counted{0.019, 0.31, 0, 0.0096, 1, 1, 0, 0, 58. / 59, 58. / 59, 57. / 59}},
	{"gain, room, AAC 64", simulate.Channel{Echo: beside, Riding: riding}, aac(64),
		counted{0.045, 0.59, 6, 0.0271, 3, 0, 0, 0, 58. / 59, 48. / 57, 42. / 60},
		counted{0.029, 0.32, 0, 0.0115, 4, 1, 0, 0, 58. / 59, 56. / 56, 57. / 59}},
}
