// Package prep is the ground floor of the house: what is true of goods,
// measures, materials and rules, without any log, clock, file or network. Every
// function here gives the same answer for the same arguments, and everything
// above (events, workflow, audit, pages) works with the types of this package.
//
// # What an item needs
//
// An [Item] is one kind of goods. What is known of it are its [Attrs], typed
// answers to questions, and the zero of each is "not answered": unknown is never
// taken for no. A [Rulebook] is one revision of the owner's rules; its method
// Recipe turns an item into a [Recipe]: steps in working order, materials,
// labels, cautions, ways to take a sticker off, and the rule behind each. Gates
// ask for [Recipe.Required] steps and nothing else, so a bench can neither pass a
// step that the rulebook asks for nor be stopped by one that it does not.
//
//	item.go, itemwords.go, itemattrs.go   goods and the one table of attributes
//	itemjson.go, itemread.go              wire form, YAML form
//	rule.go, rulefacts.go, rulenumber.go  rules, what they may read, thresholds
//	rulecompile.go, ruleproblem(s).go     names made ready, and what is wrong with them
//	recipe.go, recipemake.go,             the recipe; rules fire; bag and box are
//	recipematerials.go, recipewrite.go    chosen; the result is put into words
//	removal.go, step.go, material.go      the surface table, steps, the catalogue
//
// How rules combine is fixed, and is no matter of their order:
//
//   - All rules that read the item fire together; what they ask for is united,
//     and a step that two rules ask for is kept at its heavier severity.
//   - A prohibition wins over any permission. When it takes away a must, or two
//     means are left that may never meet in a run (warm air and remover), the
//     item is held and somebody is asked: nothing is settled by guessing.
//   - The table of removal.go stands above every rulebook: a rule may forbid
//     more than it does and may allow only what a surface bears.
//   - Rules that read what the recipe uses (a bag, an outer box, remover) fire
//     once, after bag and box are chosen, and cannot change that choice.
//   - Of cautions about one subject the heaviest is shown. Signal words are those
//     of ANSI Z535.4.
//   - A stop, an unknown safety attribute or an open question leaves no steps.
//     Hazards are stopped and left to a person licensed for them and to local
//     codes: nothing here classifies goods or permits anything.
//
// # The rulebook as a file, and its proof
//
// An owner writes YAML in plain words (default-rulebook.yaml is the shipped
// one): attributes and words, thresholds such as "at least 5 in", no expressions.
// [ParseRulebook] takes values as they are written, reports every error at
// once with its line, column and the nearest known word, and refuses whatever a
// reader could not see (anchors, aliases, tags).
//
//	rulebooksource.go, rulebooknode.go    the strict reader
//	rulebookread.go, rulebookmaterials.go the file's sections
//	rulebookcheck.go, rulebookgroups.go,  Check: the proof by decomposition
//	rulebookproduct.go
//	explain.go, explaindiff.go            why, and what changes between revisions
//
// [Check] proves, without sampling, that no goods get contradictory rules.
// TestProofAgreesWithTrying holds that proof against plain enumeration on random
// rulebooks, contradiction by contradiction, and TestMillionItems against a
// million random items of the shipped one.
//
// # Measures and the rest
//
// Lengths are whole micrometres, masses milligrams, money thousandths of a minor
// unit (measure.go, money.go): nothing is rounded before it is shown. Codes and
// marks carry check digits (gtin.go, mark.go). Box and bag fit, bag warnings,
// lifting, inspection plans, label fit and cost each have their own file, and
// each figure in them its published source or the words "common practice".
//
// Bad input is an [InputError]: where, what, and what to do about it.
package prep
