package picture

import (
	"bytes"

	"github.com/evenstroke/evenstroke/internal/record"
)

// others are files that people send and that are not read, by their first bytes.
var others = []struct{ start, what string }{
	{"BM", "a BMP picture"},
	{"II*\x00", "a TIFF or raw picture"},
	{"MM\x00*", "a TIFF or raw picture"},
	{"II+\x00", "a TIFF picture"},
	{"MM\x00+", "a TIFF picture"},
	{"\xff\x0a", "a JPEG XL picture"},
	{"\x00\x00\x00\x0cJXL ", "a JPEG XL picture"},
	{"\x00\x00\x00\x0cjP  ", "a JPEG 2000 picture"},
	{"%PDF", "a PDF"},
	{"PK\x03\x04", "a ZIP file or a document"},
	{"<svg", "an SVG drawing"},
	{"<?xml", "an XML file"},
}

// heif are the brands of still pictures in an ISO base media file (ISO/IEC 23008-12, from memory).
var heif = map[string]bool{"heic": true, "heix": true, "heim": true, "heis": true, "hevc": true, "hevx": true, "hevm": true, "hevs": true, "mif1": true, "msf1": true}

// known says whether a file starts as one of the four kinds that are read, or names what it is instead.
func known(data []byte) error {
	head := data[:min(len(data), 64)]
	switch {
	case bytes.HasPrefix(head, []byte("\xff\xd8\xff")), bytes.HasPrefix(head, []byte("\x89PNG\r\n\x1a\n")),
		bytes.HasPrefix(head, []byte("GIF87a")), bytes.HasPrefix(head, []byte("GIF89a")):
		return nil
	case len(head) >= 12 && string(head[:4]) == "RIFF" && string(head[8:12]) == "WEBP":
		return nil
	case len(head) == 0:
		return record.Faultf(record.Invalid, "picture", "an empty file", "JPEG, PNG or WebP", "choose a photo")
	}
	found, mend := "a file that is no picture", "choose a photo"
	if len(head) >= 12 && string(head[4:8]) == "ftyp" {
		switch brand := string(head[8:12]); {
		case heif[brand]:
			found, mend = "a HEIC picture", "set the camera to the most compatible format, or take a screenshot of the photo"
		case brand == "avif" || brand == "avis":
			found, mend = "an AVIF picture", "save it as JPEG"
		default:
			found, mend = "a video", "take a photo"
		}
	}
	for _, o := range others {
		if bytes.HasPrefix(bytes.TrimLeft(head, " \t\r\n"), []byte(o.start)) || bytes.HasPrefix(head, []byte(o.start)) {
			found, mend = o.what, "save it as JPEG"
		}
	}
	return record.Faultf(record.Invalid, "picture", found, "JPEG, PNG or WebP", mend)
}
