package diag

// importCodes: tables that `fettle import` reads.
var importCodes = []Info{
	{"E901", "A file that can't be taken in",
		"The file isn't text, nor a workbook that can be read, or it is larger than what is read, or no table is in it. A workbook of the old kind, or one with a password, is saved as .xlsx without one."},
	{"E902", "A number that can be read in two ways",
		"`1,234` is one and a bit with a decimal comma, and over a thousand with a comma between thousands. One number that can be read in one way alone settles it for the whole file; where there is none, or where two contradict each other, nothing is guessed. `--decimal .` and `--decimal ,` say which it is."},
	{"E903", "A cell to be taken in that isn't a number",
		"The cell stands among numbers and is something else: a word, a formula's failure, a number by another decimal mark, or a date that a spreadsheet made of a text such as `1-5`. The message names the cell as a spreadsheet does: column, then row. A column of words is headed `[text]`."},
	{"E904", "A table that isn't whole",
		"A grid has a corner cell, breakpoints across and down, and cells under them; a catalogue has heads and rows. Here a breakpoint is missing, or something stands outside the table. Copy the table alone, without what stands around it."},
	{"E905", "An axis that isn't known",
		"A map needs the names of its axes. They come from the corner cell, `throttle [%] \\ rpm [rpm]`, or from the workspace, where the breakpoints lie within the range of one axis alone. Otherwise `--rows AXIS` and `--cols AXIS` name them. A table whose axes are the other way round is turned by `--transpose`."},
	{"E906", "Per cent signs that don't fit",
		"A per cent sign in a cell is a unit, so all numbers of the map, of the axis or of the column have one, or none, and the unit that is stated must be `%` too."},
	{"E907", "Joined cells",
		"A joined cell stands for several, and there is no telling which of them its number is for. Undo the joining in the spreadsheet."},
	{"E908", "A name that can't be made",
		"Names are made of letters and digits, and this cell has none. Write a name into it."},
	{"E909", "A map or a catalogue",
		"A map has numbers in its first line and its first column, a catalogue has heads and names there, and this table has something else. `--as map` or `--as catalog` says which it is, and then what is wrong with it is told."},
	{"E910", "A sheet to be chosen",
		"The workbook has several sheets, and one is taken in at a time: `--sheet NAME`."},
}
