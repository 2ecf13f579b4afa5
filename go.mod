module pitwise

go 1.26.0

require (
	github.com/andybalholm/brotli v1.2.8
	github.com/chromedp/cdproto v0.159.0
	github.com/chromedp/chromedp v0.23.0
	github.com/maxence-charriere/go-app/v9 v9.8.0
	github.com/stretchr/testify v1.12.1
	golang.org/x/net v0.62.0
	golang.org/x/text v0.44.0
	gonum.org/v1/gonum v0.17.0
)

require (
	github.com/go-json-experiment/json v0.0.0-20260213210345-44df1a37e875 // indirect
	github.com/google/uuid v1.3.0 // indirect
	go.yaml.in/yaml/v3 v3.0.5 // indirect
)
