// Package stat is the mathematics of an audit: rates with intervals, charts of change over time,
// funnel plots of units, agreement with a person, and how many notes to review. Functions are pure:
// counts in, figures and plain sentences out. Distributions come from gonum.
//
// Everything starts from a [Point]: so many events among so many chances, under a label. A rate is a
// share from 0 to 1 (or, for counts that can exceed their chances, a number a chance); writers turn
// it into "per 100".
//
//   - [Wilson], [Rates]: one rate, with the range that the true rate may well lie in.
//   - [PChart], [UChart], [LaneyP], [LaneyU]: rates by week or month with limits. [Proportions] and
//     [Counts] choose between the plain chart and Laney's by [Dispersion], and say why.
//   - [Funnel]: units beside one another. It says inside or outside, and puts nothing in an order.
//   - [Kappa], [Diagnostic]: how far the program and a person who marked a sample agree.
//   - [SampleSize]: how many notes to mark.
//
// # What is not judged
//
// The limits of charts rest on a normal approximation. A point is judged only where the centre line
// leads to expect at least [FewestExpected] events, and for proportions as many chances without
// one; else it is [TooFew] and can neither signal nor add to a run.
//
// # Run rules
//
// A run rule reads several points together. There are three, from the Western Electric handbook,
// so that the false-alarm rate stays known; see [Rules].
package stat
