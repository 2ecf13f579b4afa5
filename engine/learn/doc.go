// Package learn makes the numbers of a model better by the units that a bench has seen.
//
// # What is learnt, from what
//
// A bench keeps trails: what each unit showed, what was done to it, how it ended. Given the
// numbers of a model, formats.md says how probable a whole trail is. This package turns that
// round (Learner, Fit): the numbers that make the trails most probable, held back by what was known
// before, and for each the interval in which it lies (Fit.Intervals). Nothing is needed of a trail
// but that it is one: ended or not, mended, written off, come back, its causes known or not.
//
// The numbers are taken in blocks, each a distribution (Block):
//
//   - of a component: sound, or each of its modes;
//   - of a test: its leak, what it shows of a unit without faults that matter to it, and for each
//     mode a link, what that mode alone would make of it. With q their cumulative sums, the row that
//     a model has for the mode is q_leak*q_link, and the test shows the largest of what all causes
//     that are there produce: the leaky noisy MAX. Leak and links may be any distributions, so
//     that what is learnt is always a valid row;
//   - of a repair or a setup step: for each fix leave or stay, for each risk enter or not, and how well
//     a repair remembers its failures (steadiness);
//   - of the bench: how often the causes that are written down are wrong, how often any are when a unit
//     is signed off for good, and how often one that was signed off comes back, with a fault or sound.
//
// # Brought in
//
// Every unit on a bench was brought in: its intake test did not show its best outcome. So
// what counts of a trail is
//
//	P(trail | brought in) = sum over S of w(S) P(results | S) / sum over S of w(S) P(intake not best | S)
//
// with S all hypotheses that are kept and w(S) the product of their priors. Left out, that would
// make every fault look as frequent among units in general as it is among broken ones.
//
// # How
//
// Expectation and maximisation (Dempster, Laird & Rubin 1977, J. R. Stat. Soc. B 39). Missing are,
// for each trail: the hypothesis at each moment (smoothed forwards and backwards over all of them;
// Baum et al. 1970); which cause made each result (law.share has the formula); which results and
// failures are draws of their own and which copies of earlier ones, for repeats are draws from
// an urn (Antoniak 1974: of c equal results sum_{j<c} kappa p/(kappa p + j) are expected to be
// fresh); and the units that were never brought in, (1-z)/z for each that was, z being the probability of
// that. All of these expectations are exact. Then each block's numbers are, in proportion,
//
//	alpha_k + expected count of k
//
// with alpha the shipped numbers times what they are worth. That maximises the likelihood times a Dirichlet prior in the basis of the logs (MacKay
// 1998, Machine Learning 33), where its mode is the shipped row, and not at the border of all rows
// as it is in the basis of the numbers whenever an alpha is below 1. With nothing missing the
// result is the posterior mean. Two things are taken as they are: the steadiness of tests, and that no unit ever had more faults than the model holds
// at once (smooth.go).
//
// # What the shipped numbers are worth
//
// As many watched units as their source says, or up to 64 times as many as far as the bench's own units
// bear them out (Learner.findTrust).
//
// # Causes that were written down
//
// A person who is right names some of the modes that were there at intake; one who is wrong names any.
// How often they are wrong is a block like others: taken for 10 % at first, by the weight of ten
// records. So a record that no trail fits is found out, and a bench whose records are half wrong is
// believed half.
//
// Silence tells something too: of a unit that failed at intake with nothing wrong there is no cause to write. Where a
// unit was signed off and stayed away, no cause is one that was not said or none that there was
// (smoother.answers). Taken for the first alone, a bench that always writes causes down would learn
// that no sound unit ever shows a fault.
//
// # Intervals
//
// Fit.Intervals draws from the posterior itself by data augmentation (Tanner & Wong 1987, J. Am.
// Stat. Assoc. 82), so they need no normal approximation. TestIntervalsCover counts how often the
// 90 % intervals hold the truth: 89.1 % over 500 repetitions on small models with 60 units each.
//
// # Exactness and cost
//
// TestEMEndsWhereTheDerivativesAreNought holds the fixed point against finite differences of
// the likelihood as package belief has it. Fit follows, of each trail, the hypotheses with more than
// 1e-9 of it, and ends with a round over all. What it finds is a function of the model and the set
// of trails: neither their order nor the number of goroutines changes a bit of it. A trail is kept as
// some tens of bytes (shape), trails of one shape once, and while Fit works with which hypotheses it follows (packed).
//
// # Between benches
//
// Counts are what a bench saw, in expectation, without anything of its trails. They merge as sets
// do, and each bench's weigh at most as MostLent units (Learner.Lend).
package learn
