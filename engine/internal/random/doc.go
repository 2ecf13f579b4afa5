// Package random makes valid models and trails at random, as JSON text, for tests.
//
// It knows the file formats but none of the engine: what it writes is judged by
// whoever reads it. The same source gives the same text. Nothing outside tests may
// import it.
//
// Rows obey the ratio rule by construction: with r rising to 1, the row of a mode is
// p_h(k)*r(k) + Q_h(k-1)*(r(k)-r(k-1)), where p_h is the healthy row and Q_h its
// cumulative sum.
package random
