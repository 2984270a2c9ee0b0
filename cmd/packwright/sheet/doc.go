// Package sheet reads tables as spreadsheets write them, and turns them into
// items and plan lines.
//
//	bytes → text (encoding) → records (separator, quotes) → Table → items, plan lines
//	bytes → workbook (shown text of the first sheet with cells) → Table → …
//
// # What is taken
//
// A CSV file in UTF-8 with or without its mark, UTF-16 of either order, or
// Windows-1252; separated by semicolon, tab or comma, which the heading row
// shows or a first line sep=; says; quotes round cells, line breaks inside
// them; rows shorter than the heading. A workbook gives the text that its cells
// show, so that leading zeros stay; a formula gives the value it was saved with.
//
// # What is never guessed
//
// A code that a spreadsheet turned into 1.23457E+11 has lost its digits and is
// refused. A quantity is digits and nothing else: "1,200" and "12.0" are
// refused. A measure has its unit in the cell or in the heading. A cell that no
// heading names is refused. An inch sign outside quotes, as in 8.5", is read
// leniently with a warning.
//
// All problems of a file come at once, each a *prep.InputError with file, line
// and column; in a workbook line and column are those of the cell. A file with
// a problem gives nothing.
package sheet
