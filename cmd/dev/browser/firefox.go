package browser

func newFirefox() (program, error) { return nil, nil }
