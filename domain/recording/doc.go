// Package recording reads recorded sound, WAV, FLAC, MP3 and Ogg Opus, from any io.Reader, and hands it to the listener.
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
//   - MP3: ISO/IEC 11172-3:1993 and 13818-3:1998, layer III, by a decoder that gives 16 bits. An MP3 says neither how
//     long it is nor where its sound begins, unless its coder put a tag in front: without one a file that was cut
//     between two frames can't be told from a whole one.
//   - Opus in Ogg: RFC 6716, RFC 7845 and RFC 3533.
package recording
