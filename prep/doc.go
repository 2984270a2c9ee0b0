// Package prep is the pure ground floor: what is true of goods, measures,
// materials and rules without any log, clock or network.
package prep
