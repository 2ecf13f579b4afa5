// Package network writes a model as a Bayesian network that general libraries read, so that
// its odds can be looked at, compared and used without this program.
//
// # What becomes of a model
//
// [Full] says exactly what the model means before anything is recorded: all combinations of up to
// MostFaults faults. Each component is a variable with the states sound and its modes. That no
// more than MostFaults are faulty is said by a count along the components: with N(i) the faults
// among the first i, and V(i, n) the probability that the components from i on bring n faults to
// at most MostFaults,
//
//	P(component i = s | N(i) = n) = prior(s) * V(i+1, n + [s is a fault]) / V(i, n),
//
// which needs no evidence to hold. Each test is a chain: the leaky noisy-MAX
//
//	F(k|S) = Q_h(k) * prod over f in S of Q_f(k)/Q_h(k)
//
// is the law of the worst of one outcome drawn from the healthy row and one for each fault present
// with the cumulative probabilities Q_f(k)/Q_h(k), so that link j of a chain has two parents, the
// link before it and a component, and no table grows beyond outcomes × modes × outcomes.
//
// [Single] is the same for exactly one fault or none: one variable whose states are sound and all
// modes, and a test's rows as they stand in the model. It is small enough for any program.
//
// A network holds one run of each test as the unit comes in: repeats, readings, repairs and setup
// steps are not in it.
//
// # Forms
//
// [Network.BIF] writes the Bayesian Interchange Format (0.15, the form that most libraries read),
// [Network.UAI] the form of the inference evaluations at the conference on Uncertainty in
// Artificial Intelligence, whose variables have numbers for names. Probabilities are written so
// that they read back to the same float64.
//
// Sources: noisy-MAX as a chain of maxima, Díez (1993), "Parameter adjustment in Bayes networks";
// the parameters are Henrion's (1989), which include the leak.
package network
