package claims

// V5, file handling.
var files = []Break{
	{"5.1.1", "the program takes larger photos than the document says", "internal/picture/read.go", "MaxBytes  = 25 << 20", "MaxBytes  = 100 << 20", "sec.TestNumbersOfTheDocument"},
	{"5.1.1", "the document does not say what becomes of a bad file", "docs/security.md", "nothing of it is kept, and the", "it is looked at, and the", "sec.TestPlainWordsFirst"},
	{"5.2.1", "an upload is read to its end, however long", "internal/picture/read.go", "io.LimitReader(r, limit+1)", "io.LimitReader(r, 1<<40)", "picture.TestUploadOf200MB"},
	{"5.2.1", "a form has no size", "internal/web/form.go", "	r.Body = http.MaxBytesReader(w, r.Body, maxForm)\n", "", "web.TestEveryFormHasItsSize"},
	{"5.2.1", "a body of the API has no size", "internal/api/body.go", "	case int64(buf.Len()) > most:\n		return nil, tooLong(most)\n", "", "api.TestBodiesHaveTheirSizes"},
	{"1.3.4", "what is no picture is decoded", "internal/picture/read.go", "	if err := known(data); err != nil {\n		return Picture{}, err\n	}\n", "", "picture.TestRefused"},
	{"5.2.3", "a picture of any size is decoded", "internal/picture/read.go", "	need, err := cost(data, about)\n", "	need, err := int64(1), error(nil)\n", "picture.TestBombTakesNoMemory"},
	{"5.2.3", "an archive may be unpacked to any size", "internal/archive/read.go", "total > maxTotal", "total > 1<<50", "archive.TestBombs"},
	{"5.2.3", "a member may be packed at any ratio", "internal/archive/read.go", "f.UncompressedSize64/maxRatio > f.CompressedSize64", "f.UncompressedSize64>>50 > f.CompressedSize64", "archive.TestBombs"},
	{"5.3.1", "the file is kept as it came", "internal/picture/read.go", "	return convert(data, about.orientation)\n", "	p, err := convert(data, about.orientation)\n	p.Data = data\n	return p, err\n", "picture.TestNothingOfTheFileStays"},
	{"5.3.2", "a member of any name is taken", "internal/archive/read.go", "		case most == 0 || !f.Mode().IsRegular():\n", "		case !f.Mode().IsRegular():\n", "archive.TestRefused"},
	{"5.4.1", "the name of a download comes from the address", "internal/web/paper.go", "return sendPDF(w, fmt.Sprintf(\"job-%d.pdf\", v.J.Number),", "return sendPDF(w, r.URL.Path+fmt.Sprint(v.J.Number)[:0],", "web.TestPagesAreNotKept"},
	{"5.4.1", "a photo has no name for a download", "internal/web/photo.go", "	w.Header().Set(\"Content-Disposition\", fmt.Sprintf(\"inline; filename=%q\", \"photo-\"+hash.String()[:12]+\".jpg\"))\n", "	_ = fmt.Sprint\n", "web.TestOnePictureAnUpload"},
	{"5.4.2", "the name of a download is not quoted", "internal/web/paper.go", "\"inline; filename=%q\"", "\"inline; filename=%s\"", "web.TestPagesAreNotKept"},
}
