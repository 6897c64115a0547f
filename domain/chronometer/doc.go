// Package chronometer holds the ISO 3159 programme for a wrist chronometer with a spring balance: fifteen days in
// stated positions and temperatures, seven criteria, and their limits for two sizes of movement. It judges a trial
// that is finished and says of an unfinished one what is known, what room is left and how likely it is to pass.
//
// Rates are in seconds per day, gaining positive; temperatures in degrees Celsius. M1 to M15 are the rates of days
// 1 to 15, each the change of the watch's state E over that day:
//
//	Mi = E(i) - E(i-1)
//
// The standard's own text was not at hand. Programme, formulae and limits are those of published digests, which agree
// with each other except where a comment here says so.
package chronometer
