package words

import "slices"

// A currency is how amounts of it are written.
type currency struct {
	code     string  // ISO 4217
	symbol   string  // the narrow one of the CLDR, which does not tell dollars apart
	decimals int     // ISO 4217
	scale    float64 // roughly how many make a euro, a power of ten: only to offer sane amounts; from memory
}

// currencies are those offered.
var currencies = []currency{
	{"EUR", "€", 2, 1}, {"USD", "$", 2, 1}, {"GBP", "£", 2, 1}, {"JPY", "¥", 0, 100}, {"CHF", "CHF", 2, 1},
	{"CAD", "$", 2, 1}, {"AUD", "$", 2, 1}, {"MXN", "$", 2, 10}, {"SEK", "kr", 2, 10}, {"PLN", "zł", 2, 1},
}

// Currencies lists the currencies offered, ISO 4217. A trail may carry another.
var Currencies = codes()

func codes() (all []string) {
	for _, c := range currencies {
		all = append(all, c.code)
	}
	return all
}

// currencyOf returns the currency of a code; of one that is not offered the code stands for the symbol.
func currencyOf(code string) currency {
	if i := slices.IndexFunc(currencies, func(c currency) bool { return c.code == code }); i >= 0 {
		return currencies[i]
	}
	return currency{code, code, decimalsOf(code), 1}
}

// decimalsOf is how many decimals ISO 4217 gives a currency that is not offered.
func decimalsOf(code string) int {
	switch code {
	case "BIF", "CLP", "DJF", "GNF", "ISK", "KMF", "KRW", "PYG", "RWF", "UGX", "VND", "VUV", "XAF", "XOF", "XPF":
		return 0
	case "BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND":
		return 3
	}
	return 2
}

// CurrencyScale is roughly how many of a currency make one euro, rounded to a power of ten.
func CurrencyScale(code string) float64 { return currencyOf(code).scale }
