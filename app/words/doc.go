// Package words holds every sentence a person sees, by key and language, and the
// forms of numbers, amounts and dates that go with a language.
//
// A language is a row of languages.go, with its Form, and a file of its texts by Key. A text may have another form
// for one and for none of an argument. A key that a language lacks would fall back to
// English; a test sees to it that none lacks, that none is left over, that placeholders
// agree, and that golang.org/x/text, with the data of Unicode's CLDR, would write the same.
//
// A program built with the tag apart, as the page's is, has English alone in it, and takes
// the file of another language when it is wanted: see Take.
//
// Model texts are data and come with the model; they are not in this package.
package words
