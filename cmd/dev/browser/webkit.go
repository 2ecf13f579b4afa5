package browser

func newWebKit() (program, error) { return nil, nil }
