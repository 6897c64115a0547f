// Package recording reads recorded sound, WAV and FLAC, from any io.Reader, and hands it to the listener.
//
// It reads as a stream, so that a recording of a day takes no more memory than one of a minute, and it believes
// nothing a header says about lengths: a size only ever bounds what is read, never what is allocated.
//
// The formats are those of the published documents:
//
//   - RIFF and WAVE: IBM and Microsoft, Multimedia Programming Interface and Data Specifications 1.0, August 1991,
//     chapters 2 and 3; the sample formats by tag: Microsoft, New Multimedia Data Types and Data Techniques, 1994.
//   - WAVE_FORMAT_EXTENSIBLE: Microsoft, Multiple Channel Audio Data and WAVE Files, 2001.
//   - RF64 for recordings past 4 GiB: EBU Tech 3306; BW64 shares its ds64 chunk: ITU-R BS.2088.
//   - FLAC: RFC 9639, Free Lossless Audio Codec, December 2024.
package recording
