// Package archive writes a whole job as one file that another shop can take in without loss.
//
// An archive is a ZIP file (ISO/IEC 21320-1: stored or deflated members, no encryption) with
//
//	manifest.json        what it is, of which shop and job, and the SHA-256 digest of every other member
//	entries.jsonl        the entries, one a line, exactly as they were hashed (record.Entry.Seal): the digests can be computed anew
//	items/KIND-N.json    what the numbers in the entries stand for: people (name and initials), devices, customer, pump, pump sheets, tools, prices
//	photos/DIGEST.jpg    the pictures that entries name
//
// The numbers in an entry are those of the shop that wrote it, and they are part of its digest. So each line says beside the entry which
// item each of its numbers stands for ("refers"). A shop that takes the archive in keeps the entries as they were hashed and, for its own
// use, beside them what they say with its own numbers (store.ImportJob). When it writes more into the job, its entries go on in the same
// chain; an archive of the job then has entries of two shops, and the first shop can take in what came to it.
//
// The same state of a job gives the same bytes. Nothing in an archive proves who made it: the digests show damage and changes, not the
// writer. Names in it are the word of the shop that it came from.
package archive
