package main

import "ledgerwheel/domain/acoustic/simulate"

// row is one way from the watch to the file.
type row struct {
	name    string
	channel simulate.Channel
	codec   codec
}

// The room of a phone that lies beside the watch, and of one a metre off.
var (
	beside   = &simulate.Echo{DirectDB: 6, DecayS: 0.4}
	metreOff = &simulate.Echo{DirectDB: -6, DecayS: 0.4}
	riding   = &simulate.Riding{TargetDBFS: -26, AttackS: 0.005, EaseS: 0.4, GreatestGainDB: 20, LevelIntegrateS: 0.02}
)

var rows = []row{
	{name: "as recorded"},
	{name: "AAC 96 kbit/s", codec: aac(96)},
	{name: "AAC 48 kbit/s", codec: aac(48)},
	{name: "Opus 32 kbit/s", codec: opus(32)},
	{name: "MP3 64 kbit/s", codec: mp3(64)},
	{name: "300-3400 Hz at 8 kHz", channel: simulate.Channel{LowHz: 300, HighHz: 3400, RateHz: 8000}},
	{name: "16 kHz", channel: simulate.Channel{RateHz: 16000}},
	{name: "room, beside", channel: simulate.Channel{Echo: beside}},
	{name: "room, a metre off", channel: simulate.Channel{Echo: metreOff}},
	{name: "automatic gain", channel: simulate.Channel{Riding: riding}},
	{name: "gain, room, AAC 64", channel: simulate.Channel{Echo: beside, Riding: riding}, codec: aac(64)},
}
