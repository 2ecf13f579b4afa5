package belief

type Belief struct{}
