// Package words holds every sentence a person sees, by key and language, and the
// forms of numbers, amounts and dates that go with a language.
//
// A language is one file: its texts (a map from Key to message), and its Form. The
// texts go through golang.org/x/text: a message may choose its words by the plural
// form of an argument. A key that a language lacks would fall back to English; a
// test sees to it that none lacks, that none is left over, and that placeholders
// agree.
//
// Model texts are data and come with the model; they are not in this package.
package words
