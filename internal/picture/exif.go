package picture

import (
	"bytes"
	"encoding/binary"
)

// header is what is read from the segments of a JPEG before its data.
type header struct {
	orientation int // 1 to 8 as in Exif, 1 when nothing says so
	progressive bool
	samples     float64 // a pixel: 3 without subsampling, 1.5 of 4:2:0; 0 when it is not known
}

// Markers of a JPEG (ITU-T T.81 table B.1).
const (
	markerSOF0 = 0xc0
	markerSOF1 = 0xc1
	markerSOF2 = 0xc2
	markerSOI  = 0xd8
	markerEOI  = 0xd9
	markerSOS  = 0xda
	markerAPP1 = 0xe1
)

// look walks over the segments of a JPEG up to its data. What is no JPEG, or breaks off, has the plain header.
func look(data []byte) header {
	out := header{orientation: 1}
	if len(data) < 2 || data[0] != 0xff || data[1] != markerSOI {
		return out
	}
	seen := false
	for p := data[2:]; len(p) >= 4 && p[0] == 0xff; {
		marker := p[1]
		if marker == 0xff { // fill byte
			p = p[1:]
			continue
		}
		if marker == 0 { // no marker (ITU-T T.81 section B.1.1.2): the segments are over
			break
		}
		if marker == markerSOS || marker == markerEOI {
			break
		}
		n := int(binary.BigEndian.Uint16(p[2:]))
		if n < 2 || n > len(p)-2 {
			break
		}
		body := p[4 : 2+n]
		switch marker {
		case markerSOF0, markerSOF1, markerSOF2:
			out.progressive, out.samples = marker == markerSOF2, samples(body)
		case markerAPP1:
			if tiff, ok := bytes.CutPrefix(body, []byte("Exif\x00\x00")); ok && !seen {
				out.orientation, seen = orientation(tiff), true
			}
		}
		p = p[2+n:]
	}
	return out
}

// samples is how many samples a frame has for a pixel, by the sampling factors of its components (ITU-T T.81 section B.2.2 and A.1.1).
func samples(frame []byte) float64 {
	if len(frame) < 6 || len(frame) < 6+3*int(frame[5]) {
		return 0
	}
	sum, h, v := 0, 1, 1
	for i := range int(frame[5]) {
		ch, cv := int(frame[7+3*i]>>4), int(frame[7+3*i]&15)
		if ch < 1 || ch > 4 || cv < 1 || cv > 4 {
			return 0
		}
		sum, h, v = sum+ch*cv, max(h, ch), max(v, cv)
	}
	return float64(sum) / float64(h*v)
}

// Of TIFF 6.0: the tag of the orientation, and the type of a 16-bit number.
const (
	tagOrientation = 0x0112
	typeShort      = 3
	entrySize      = 12
)

// orientation reads the orientation from the first directory of the TIFF in an Exif segment: 1 for whatever does not fit.
func orientation(tiff []byte) int {
	if len(tiff) < 8 {
		return 1
	}
	var order binary.ByteOrder
	switch string(tiff[:4]) {
	case "II*\x00":
		order = binary.LittleEndian
	case "MM\x00*":
		order = binary.BigEndian
	default:
		return 1
	}
	at := int64(order.Uint32(tiff[4:]))
	if at < 8 || at > int64(len(tiff))-2 {
		return 1
	}
	count := int(order.Uint16(tiff[at:]))
	entries := tiff[at+2:]
	for ; count > 0 && len(entries) >= entrySize; count-- {
		e := entries[:entrySize]
		entries = entries[entrySize:]
		if order.Uint16(e) != tagOrientation {
			continue
		}
		v := int(order.Uint16(e[8:]))
		if order.Uint16(e[2:]) != typeShort || order.Uint32(e[4:]) != 1 || v < 1 || v > 8 {
			return 1
		}
		return v
	}
	return 1
}
