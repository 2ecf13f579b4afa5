package words

// languages, the fallback first. Their texts are in files of their own.
var languages = []Language{
	{
		ID: "en", Name: "English",
		form: Form{
			Point: '.', Group: ',', Currency: "EUR", PercentGap: "",
			Day: "2 Jan 2006", Month: "Jan 2006", Clock: "15:04",
			Hours: "%s\u00a0h", Minutes: "%s\u00a0min", Seconds: "%s\u00a0s",
			Owner: "Its owner", List: ", ", Last: " and ",
		},
	},
	{
		ID: "de", Name: "Deutsch",
		form: Form{
			Point: ',', Group: '.', Currency: "EUR", AmountFirst: true, PercentGap: "\u00a0",
			Day: "2.1.2006", Month: "1/2006", Clock: "15:04",
			Hours: "%s\u00a0Std.", Minutes: "%s\u00a0Min.", Seconds: "%s\u00a0Sek.",
			Owner: "Die Besitzer", List: ", ", Last: " und ",
		},
	},
	{
		ID: "es", Name: "Español",
		form: Form{
			Point: ',', Group: '.', Currency: "EUR", AmountFirst: true, PercentGap: "\u00a0",
			Day: "2/1/2006", Month: "1/2006", Clock: "15:04",
			Hours: "%s\u00a0h", Minutes: "%s\u00a0min", Seconds: "%s\u00a0s",
			Owner: "Su dueño", List: ", ", Last: " y ",
		},
	},
	{
		ID: "ja", Name: "日本語",
		form: Form{
			Point: '.', Group: ',', Currency: "JPY", Symbols: map[string]string{"JPY": "￥"}, PercentGap: "",
			Day: "2006年1月2日", Month: "2006年1月", Clock: "15:04",
			Hours: "%s時間", Minutes: "%s分", Seconds: "%s秒",
			Owner: "持ち主", List: "、", Last: "、",
		},
	},
}
