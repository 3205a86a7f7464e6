// Package picture takes photos in: what somebody uploads is looked at by its content, never by its name or what the browser says it is,
// decoded within limits and encoded anew as JPEG. Nothing of the file that came in is kept, so that neither the place where the photo was
// taken nor anything hidden in the file or behind its end stays.
//
// It reads JPEG (ITU-T T.81), PNG (W3C), GIF (the first frame) and WebP (RFC 9649). The orientation of a JPEG is applied (Exif, CIPA DC-008,
// from memory); colour profiles are dropped.
package picture
