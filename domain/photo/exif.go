package photo

import (
	"bytes"
	"encoding/binary"
)

// tagOrientation is the EXIF and TIFF tag of a picture's orientation.
const tagOrientation = 0x0112

// orientationOf reads the orientation from the EXIF data of a JPEG, PNG or
// WebP file. A file that states none, or wrongly, is taken as stored: a picture
// on its side can still be looked at.
func orientationOf(file []byte) orientation {
	switch {
	case bytes.HasPrefix(file, []byte{0xFF, 0xD8}):
		return tiffOrientation(jpegEXIF(file))
	case bytes.HasPrefix(file, []byte("\x89PNG\r\n\x1a\n")):
		return tiffOrientation(chunk(file[8:], "eXIf", binary.BigEndian, pngChunk))
	case len(file) >= 12 && string(file[:4]) == "RIFF" && string(file[8:12]) == "WEBP":
		return tiffOrientation(chunk(file[12:], "EXIF", binary.LittleEndian, riffChunk))
	}
	return topLeft
}

// exifHeader starts the APP1 segment of a JPEG that holds EXIF data; some
// writers put it into the WebP chunk too.
var exifHeader = []byte("Exif\x00\x00")

// jpegEXIF returns the TIFF structure in a JPEG's first EXIF segment, or nil.
// Segments are a marker FF xx and a big-endian length that counts itself (ITU-T
// T.81 annex B); the search ends where the scan begins.
func jpegEXIF(file []byte) []byte {
	const app1, startOfScan, endOfImage = 0xE1, 0xDA, 0xD9
	for rest := file[2:]; len(rest) >= 4 && rest[0] == 0xFF; {
		marker := rest[1]
		if marker == 0xFF { // fill byte
			rest = rest[1:]
			continue
		}
		if marker == startOfScan || marker == endOfImage {
			return nil
		}
		length := int(binary.BigEndian.Uint16(rest[2:]))
		if length < 2 || 2+length > len(rest) {
			return nil
		}
		if body := rest[4 : 2+length]; marker == app1 && bytes.HasPrefix(body, exifHeader) {
			return body[len(exifHeader):]
		}
		rest = rest[2+length:]
	}
	return nil
}

// chunkShape says how a container lays out its chunks.
type chunkShape struct {
	lengthAt, nameAt int
	head, tail       int // bytes before and after the data
	even             bool
}

var (
	pngChunk  = chunkShape{lengthAt: 0, nameAt: 4, head: 8, tail: 4} // ISO/IEC 15948 section 5.3
	riffChunk = chunkShape{lengthAt: 4, nameAt: 0, head: 8, even: true}
)

// chunk returns the data of the first chunk of that name, or nil.
func chunk(rest []byte, name string, order binary.ByteOrder, shape chunkShape) []byte {
	for len(rest) >= shape.head {
		length := uint64(order.Uint32(rest[shape.lengthAt:]))
		if uint64(shape.head)+length > uint64(len(rest)) {
			return nil
		}
		data := rest[shape.head : uint64(shape.head)+length]
		if string(rest[shape.nameAt:shape.nameAt+4]) == name {
			return bytes.TrimPrefix(data, exifHeader)
		}
		next := uint64(shape.head+shape.tail) + length
		if shape.even {
			next += length % 2
		}
		if next > uint64(len(rest)) {
			return nil
		}
		rest = rest[next:]
	}
	return nil
}

// tiffOrientation reads the orientation from the first directory of a TIFF
// structure (TIFF 6.0 section 2): byte order, 42, offset of the directory, its
// count of entries, then entries of twelve bytes.
func tiffOrientation(t []byte) orientation {
	if len(t) < 8 {
		return topLeft
	}
	var order binary.ByteOrder = binary.BigEndian
	switch string(t[:2]) {
	case "II":
		order = binary.LittleEndian
	case "MM":
	default:
		return topLeft
	}
	at := uint64(order.Uint32(t[4:]))
	if order.Uint16(t[2:]) != 42 || at+2 > uint64(len(t)) {
		return topLeft
	}
	entries := t[at+2:]
	for n := order.Uint16(t[at:]); n > 0 && len(entries) >= 12; n, entries = n-1, entries[12:] {
		if order.Uint16(entries) == tagOrientation {
			return entryOrientation(entries[:12], order)
		}
	}
	return topLeft
}

// entryOrientation reads one directory entry: tag, type, count, and the value
// left-justified in four bytes. Only a single SHORT (type 3) from 1 to 8 counts.
func entryOrientation(entry []byte, order binary.ByteOrder) orientation {
	const typeShort = 3
	o := orientation(order.Uint16(entry[8:]))
	if order.Uint16(entry[2:]) != typeShort || order.Uint32(entry[4:]) != 1 || o < topLeft || o > leftBottom {
		return topLeft
	}
	return o
}
