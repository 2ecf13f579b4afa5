// Package words holds every sentence a person sees, by key and language, and the
// forms of numbers, amounts and dates that go with a language.
//
// A language is one file: its texts by Key, and its Form. A text may have another form
// for one and for none of an argument. A key that a language lacks would fall back to
// English; a test sees to it that none lacks, that none is left over, that placeholders
// agree, and that golang.org/x/text, with the data of Unicode's CLDR, would write the same.
//
// Model texts are data and come with the model; they are not in this package.
package words
