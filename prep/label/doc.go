// Package label lays out everything that a floor prints and paints it: labels,
// sheets and cards go in as what they should say, and bytes come out.
//
// # One description, two painters
//
// A [Layout] is a page of a given size in whole printer dots, from the top left
// corner: boxes, polygons, lines of type and symbols, in the order in which they
// are painted. Each label is a struct of its words (item.go, sealed.go, carton.go,
// contents.go, warning.go, own.go, card.go, proof.go) whose method Pages makes its
// layouts. Nothing else is known of paper; [PNG] and [PDF] paint any layout and know
// of no label.
//
//	layout.go, page.go   parts; a page while it is drawn, in units of 1/203 in
//	stock.go             the sizes of paper
//	symbol.go            codes as modules, and the choice of their narrow bar
//	lettering.go         the type, measured and broken into lines
//	png.go, pdf.go       the painters
//	sheet.go             many cards on a sheet of paper, backs behind fronts
//	labeltest            real readers as judges, for tests here and above
//
// # Symbols
//
// The narrow bar X is a whole number of printer dots and never less than
// [prep.LeastDots], since the printer can paint nothing between; [prep.FitLabel] takes
// the widest that fits with its quiet zones and gives the reason when none does,
// which is then the refusal. Modules of square codes are whole dots too, at least as
// many. The quiet zones are parts of a symbol's place: [Layout.Check] refuses a
// layout in which anything stands in one, or over the edge, so that no text can be
// long enough to spoil a symbol. No drawing of ours resembles bars.
//
//	item numbers      EAN-13, UPC-A, EAN-8 (ISO/IEC 15420) at X of 0.264 to 0.660 mm
//	carton numbers    GS1-128, AI (00), X of 0.495 to 1.016 mm, bars upright and at least
//	                  31.75 mm high, lowest on the label, digits below
//	codes of the floor Code 128 (ISO/IEC 15417), or Data Matrix ECC 200 (ISO/IEC 16022)
//	marks             Data Matrix or QR (ISO/IEC 18004) of the eight signs. Not GS1
//	                  DataMatrix: its AI (21) would claim to be the maker's serial number
//
// # Painting
//
// A PNG has one bit a dot and says its resolution, so that it is printed dot for dot.
// In a PDF everything is placed in dots too, by one scale for the page. Between the
// page and the printer stands a renderer that may blacken each dot that a shape only
// touches: a bar drawn exactly from one dot border to another then comes out a dot
// wider. So linear bars are drawn 0.2 dots narrower on each side there, which a
// renderer that takes dot centres does not see. Square codes stay as they are:
// narrowed modules would come apart.
//
// The same layouts give the same bytes always: a PDF is dated with a fixed day. When
// something was printed stands in the floor's log.
//
// # Proof
//
// TestReaders paints every label and every card at 203 and 300 dots an inch, by both
// painters, as it is, fattened and thinned by half a dot on each edge, and lets real
// readers (zbarimg, dmtxread) say what they find: exactly what the layout says, and
// nothing else. TestPrintPath inks the drawing of a PDF by both rules of renderers
// and compares it with the PNG, dot for dot. TestCodewords holds Code 128 against published symbols. TestQuiet and
// the random texts of TestAnyWords hold Check. The type is Go Regular and Go Bold.
package label
