package diag

import "slices"

// Info is what the documentation says of a code.
type Info struct {
	ID    string
	Title string // what is wrong, in a few words
	Text  string // what it means and what to do, in sentences
}

// Severity tells whether the code is of an error or of a warning.
func (i Info) Severity() Severity { return severityOf(i.ID) }

func severityOf(code string) Severity {
	if len(code) > 0 && code[0] == 'W' {
		return Warning
	}
	return Error
}

// Codes lists every code in order. A code keeps its meaning from version to
// version; one that falls out of use isn't given to something else.
func Codes() []Info {
	return slices.Concat(textCodes, tableCodes, expressionCodes, nameCodes, valueCodes, importCodes, warningCodes)
}

// Code finds a code.
func Code(id string) (Info, bool) {
	for _, c := range Codes() {
		if c.ID == id {
			return c, true
		}
	}
	return Info{}, false
}

// textCodes: how a source is written.
var textCodes = []Info{
	{"E101", "A statement isn't in its form",
		"A declaration or a statement has a word or sign where something else belongs, or ends too soon. The message names the usual slips: a range without its two dots, a comma for a decimal point, one `=` where two are meant, two statements on a line, a clause that belongs elsewhere. Otherwise the hint shows how the statement is written: words in capitals stand for your own."},
	{"E102", "A line begins with no word of the language",
		"Outside braces a line begins with the word of a declaration: `use`, `axis`, `given`, `let`, `fn`, `catalog`, `curve`, `map`, `region`, `rule`, `limit`, `variant`, `variants`, `check`, `review`, `target` or `caution`. An adjustment stands inside a rule's braces, a setting inside a variant's."},
	{"E103", "A bracket is never closed",
		"A `(`, `{` or `[` has no partner. The mark shows the one that was opened; the note shows where it was noticed. Add the closing one where it should stand. A `(` must close before its statement ends, a `{` before the next declaration."},
	{"E104", "A text has no closing quote",
		"A text in quotes ends on the line on which it begins. Add the `\"` at its end."},
	{"E105", "A closing bracket too many",
		"This `)` or `}` has no partner before it. Leave it out, or add the opening one where it is missing."},
	{"E106", "A declaration without its block",
		"A rule, variant, matrix, check, review or target has a block in braces, and its `{` stands at the end of the first line. A variant that leaves every given at its default is written with an empty one: `variant bench { }`."},
	{"E107", "A sign that isn't used here",
		"The sign has no meaning in the language. Signs from word processors and web pages, like curly quotes, long dashes and hard spaces, look right and are other characters: type them anew. A statement ends with its line, so there is no `;`."},
	{"E108", "A word of the language as a name",
		"Words of the language, also those that are kept for later, can't be names. Choose another."},
	{"E109", "A name with other signs in it",
		"A name is lower case letters a to z, digits and `_`, and begins with a letter: `thin_air`, `pump98`. That goes for the rows and columns of catalogues too, since expressions name them."},
	{"E110", "A clause stands twice",
		"A statement has each of its clauses once. Join two conditions with `and` or `or`, and the ranges of two axes with a comma."},
	{"E111", "A merge left a conflict",
		"Two edits of one place couldn't both be kept, and the file holds both between markers: ours behind `<<<<<<<`, what both began from behind `|||||||`, theirs from `=======` to `>>>>>>>`. Keep what is right and take the rest and the markers out. Nothing else is said of such a file until then."},
}

// tableCodes: grids, catalogues and CSV files.
var tableCodes = []Info{
	{"E201", "A map without cells",
		"A map's block begins with its axes and the columns' breakpoints, and has a line for each row: `throttle \\ rpm | 3000 5000`, then `0 | 1.1 1.2`. A map over one axis has `rpm | 3000 5000` and one line of cells, `| 3.1 2.9`."},
	{"E202", "A line of a grid has no bar, or two",
		"Each line of a map's grid has one `|`: before it stands the row's breakpoint, after it the cells, parted by spaces. Bars between the cells are for catalogues."},
	{"E203", "A grid's axes and rows don't fit",
		"The first line names the axes: the rows', a `\\`, the columns'. With two axes every row has its breakpoint before the bar; with one axis nothing stands there. A map has no third axis."},
	{"E204", "A row with too many or too few cells",
		"Every row has as many cells as there are columns. Write `_` for a cell that shall be filled in from its neighbours. One cell too many often is a number that was split by a space."},
	{"E205", "Breakpoints that don't ascend",
		"Breakpoints rise along the row and down the column, and none stands twice. Sort them, and their cells with them."},
	{"E206", "A cell that isn't a number",
		"A grid holds numbers alone, with a dot before the decimals and spaces between them: no commas, no units, no semicolons. The cells are in the map's unit, the breakpoints in the axis's. Write `_` for a cell that shall be filled in."},
	{"E211", "A catalogue without rows",
		"A catalogue has a line of column heads, `name | density [kg/m^3]`, and a line for each row."},
	{"E212", "A row of a catalogue with too many or too few cells",
		"Every row has a cell for each column, parted by `|` (in a CSV file by commas). A text that holds a bar or a comma stands in quotes."},
	{"E213", "A fault in a CSV file",
		"CSV files are read strictly: commas between the cells, dots before the decimals, UTF-8, every line as long as the first. What could be read in two ways, like a decimal comma, is refused and not guessed. Spreadsheet programs in some countries save semicolons and decimal commas: choose a CSV format with commas and dots."},
	{"E214", "A catalogue whose first column isn't `name`",
		"The first column holds the rows' names, and its head is the word `name`."},
	{"E215", "A row or column stands twice",
		"Rows and columns are asked for by name, so each name stands once in its catalogue."},
	{"E216", "A cell of a catalogue that can't be read",
		"The column holds numbers, or `yes` and `no`, and this cell is something else. A column of words has `[text]` behind its head; it is for readers, and has no place in an expression."},
	{"E217", "An empty cell in a catalogue",
		"A catalogue has no blanks: what isn't known can't be computed with. Write the value, or leave the row out."},
}

// nameCodes: files, names and what they stand for.
var nameCodes = []Info{
	{"E401", "A file that can't be read",
		"The file isn't there, or may not be read, or isn't text in UTF-8, or lies outside the workspace. Names are relative to the file that names them, with `/` between folders."},
	{"E402", "`use` after something else",
		"A file begins with what it uses. Move the line to the top."},
	{"E403", "A module that holds more than values",
		"A module of the standard library holds `use` of other modules, `let`, `fn` and `catalog`, and nothing else. You meet this only when you write one."},
	{"E404", "Files that use each other in a circle",
		"A file is read after those that it uses, so two can't use each other. Put what both need in a third file."},
	{"E405", "A module that doesn't exist",
		"`use` without quotes names a module of the standard library; the hint lists them. A file of the workspace is named in quotes: `use \"pipes.fettle\"`."},
	{"E406", "A name is declared twice",
		"One name has one meaning in a workspace, whatever it stands for, and nothing hides anything. Both places are shown: choose another name for one of them. A function's parameter may not take the name of something else either."},
	{"E407", "The name of a function of the language",
		"`min`, `max`, `clamp`, `abs`, `sqrt`, `exp`, `log`, `round`, `floor`, `ceil` and `step` belong to the language. Choose another name."},
	{"E408", "A value or function that needs itself",
		"A value is worked out from others, and a function from its parameters; neither may come back to itself, so that every compile ends. The message shows the way round. Make one of them independent of the rest."},
	{"E409", "A name of another kind is wanted",
		"What stands here must be the name of a map, an axis, a given, a region or a catalogue, as the message says. Either there is no such name, or it stands for something else, and then its declaration is shown."},
	{"E410", "More work than is allowed",
		"A workspace may ask for so much and no more, so that every compile ends and no source fills a machine: words and signs, steps of expressions with their functions written out, cells of maps, combinations, values that need each other in a row, the length of a line and of a name. The message says which and how much is allowed. What grows by multiplying is far smaller written another way: a `map … like` instead of functions that call each other twice, an `except` that is decided early, two matrices instead of one. Where the source is yours and is meant to be that large, `--work 2` allows twice as much work."},
	{"E411", "The name of a device on Windows",
		"Maps, tunes, targets and bundles become files and folders. Windows keeps `con`, `prn`, `aux`, `nul`, `com1` and `lpt1` and the like for devices, with any ending: what is written to `nul.csv` is gone. So that a source means the same on every machine, none of them names what is written. Choose another name."},
}

// valueCodes: axes, givens, maps, rules, limits, variants and checks.
var valueCodes = []Info{
	{"E501", "A value that must be fixed",
		"The ends of an axis, a given's default and range, and a variant's values are the same in every tune, so they can't depend on a given. Values made of numbers, catalogues and fixed `let`s are fine."},
	{"E502", "A range that can't be",
		"A range is written lower end first, `6000..8500`, and at least one end is given. Either end may stay open where that makes sense, `9000..`; an axis has both."},
	{"E503", "A given without its default",
		"Every given has the value of the proven base: `given altitude [m] = 40`. A given that is a row of a catalogue says which catalogue: `given pipe from pipes = stock`."},
	{"E504", "A given with a clause that doesn't suit it",
		"Only a quantity has a unit and a range. A row of a catalogue and a yes/no have neither."},
	{"E505", "A value outside the given's range",
		"`within` says for which values the source was made, so no tune and no proof goes further. Either the value is a slip, or the range must be widened, and with it the trust in the rules."},
	{"E506", "Not a row of the catalogue",
		"The given is chosen from a catalogue, so its value is the name of one of its rows."},
	{"E507", "A calculation without parentheses",
		"A range's end, a feather, a default and a variant's value stand among dots and commas, where a calculation reads too easily as something else. A quantity or a name may stand alone; anything longer stands in parentheses: `(3000 rpm + 500 rpm)..6000`."},
	{"E601", "Maps that take their breakpoints from each other",
		"`like` takes over the breakpoints of another map. Somewhere in the row of maps there must be one with a grid."},
	{"E602", "A resolution that can't be used",
		"`to` is followed by a positive number in the map's unit, as in `to 0.01`: what is printed is rounded to it."},
	{"E603", "A map with too many cells",
		"A map may have a million cells. No controller takes a tenth of that."},
	{"E604", "A map over the same axis twice",
		"The rows and the columns of a map run over two different axes."},
	{"E605", "A breakpoint outside its axis",
		"An axis has a range, and a map's breakpoints lie within it. Either the breakpoint is a slip, or the axis must be made longer."},
	{"E606", "A blank that can't be filled in",
		"A `_` is filled in from the cells that are written in its row, or else in its column. Here both are blank throughout. Write at least one."},
	{"E607", "Maps that go round in a circle",
		"A map is worked out after those that it reads. In a circle there is no first. The notes show where each reads the next, rules and clamps counted in, whatever `when` says. Often one map is two things, what is measured and what is made of it: split it."},
	{"E608", "A curve over two quantities",
		"A curve is a function of one quantity, written as a grid of one line. A grid over two axes is a `map`."},
	{"E701", "A part of a map without its range",
		"`over` and `region` take an axis with a range: `rpm 6000..8500`. A region is made of axes' ranges, and an `over` may list several regions and ranges."},
	{"E702", "A negative feather",
		"A feather is the width over which an adjustment fades out outside its range. It is zero or more."},
	{"E703", "A `where` that is the same in every cell",
		"`where` chooses cells, so it has to look at an axis or a map. What depends on the conditions of the tune alone is decided once, in `when`."},
	{"E704", "A factor with a unit",
		"`*=` and `/=` scale a map, so they take a plain number or a per cent. To add a quantity write `+=` or `-=`."},
	{"E705", "A per cent added to a plain number",
		"On a map without a unit `+= 3 %` could mean 0.03 more or three hundredths of what is there. For a share write `*= 1.03`, for an amount the number itself. What a review allows such a map is a number too."},
	{"E706", "A feather on a region",
		"The ranges of a region have feathers of their own. Change them in the region, or write the ranges out here."},
	{"E707", "An axis that the map doesn't have",
		"The adjustment is bounded along an axis over which its map doesn't run, or a target's table has breakpoints of one. Both declarations are shown."},
	{"E801", "An unknown `else`",
		"Without an `else` a limit that doesn't hold fails the tune. `else warn` reports it and goes on; `else clamp` caps the cell and reports it."},
	{"E802", "A limit without a map",
		"A limit is looked at in every cell of the maps that it names, and this one names none. What bounds a condition is its `within`."},
	{"E803", "A limit over too many axes",
		"The maps that a limit names may together run over two axes. Split it in two limits, or look one of the maps up at a point: `warmup(60 degC)`."},
	{"E804", "A clamp that bounds no single map",
		"`else clamp` caps one map, named by itself, from above, from below or both: `6 deg <= spark <= 28 deg`. The bound may not read that map."},
	{"E805", "A given is set twice in one variant",
		"A variant sets each given once. Values that make a matrix stand in one list."},
	{"E806", "`except` in a single variant",
		"`except` leaves combinations out of a matrix, which is declared with `variants`."},
	{"E807", "A list of values in a single variant",
		"One tune has one value of each given. Several values make several tunes, and are declared with `variants`."},
	{"E808", "A value stands twice in a matrix",
		"Each value of a given stands once in its list, also if it is written in two units."},
	{"E809", "Neither yes nor no",
		"The given is a condition that holds or doesn't: its value is `yes` or `no`."},
	{"E810", "A tolerance that can't be",
		"`+-` says how far an expected value may be off to either side, so it isn't negative, and goes with `==`. Other comparisons hold or don't."},
	{"E811", "A check of no tune",
		"`with` names a variant, a matrix, a member of one, or a pattern with `*` that some of them match. `fettle list` shows their names."},
	{"E812", "Variants that start from each other",
		"`from` starts at another variant's conditions and trims, and somewhere there must be a first."},
	{"E813", "A variant from one that is left out",
		"The combination is left out of its matrix by an `except`, so nothing can start from it."},
	{"E814", "An unknown variant",
		"`from` names a variant, or a member of a matrix: its values in written order, as in `season/stock-pump98-820m`. `fettle list` shows them."},
	{"E815", "Too many tunes",
		"A workspace may have a million combinations. A matrix multiplies its lists: drop values, or split it."},
	{"E816", "A matrix with nothing left",
		"The `except` lines leave out every combination. Loosen one."},
	{"E817", "An `except` that can't be decided",
		"The condition asks a function for something outside its range of validity, so there is no answer. Narrow the values, or ask otherwise."},
	{"E818", "Two tunes of one name",
		"A tune of a matrix is called by its values, and these two read alike. Write one of the values otherwise."},
	{"E819", "A second review in a file",
		"A file has one `review`, so that its policy is read in one place. Those of several files are together the policy of the workspace. Join the two."},
	{"E820", "A map is allowed twice",
		"A workspace has one policy, and each map stands in it once. Both places are shown: leave one out."},
	{"E821", "Less than nothing is allowed",
		"What a map is allowed goes both ways, so it isn't negative. `0` hides nothing, as if the line weren't there."},
	{"E822", "A way of storing that there isn't",
		"A controller's table says behind `as` how a number is stored: `u8`, `i8`, `u16`, `i16`, `u32` or `i32`, whole numbers of 8, 16 or 32 bits without or with a sign, or `f32`, a number with a point."},
	{"E823", "A step or an offset that doesn't suit",
		"A stored whole number is worth its `step` times itself, and the `offset` more: a table of whole numbers needs a step greater than nothing. One of `f32` keeps its values as they are and has neither."},
	{"E824", "Something stands twice in a target",
		"A target has one table of a name, which is its file's, names each given that it compensates once, and each axis of a table once."},
	{"E825", "Breakpoints that a table can't have",
		"The breakpoints of a controller's table ascend, lie within the axis, and are at most 256 along one. A range of them says how far they are apart and ends on a step. `auto` chooses from 2 up, all of them multiples of its step, the map's outermost among them."},
	{"E826", "A rule that is compensated in part",
		"The rule corrects for several givens in one, and the controller takes only some of them upon itself, so the rule can neither be left out nor kept. Make two rules of it, each with its own `corrects`."},
	{"E827", "An order of bytes that there isn't",
		"`bytes big` puts the high byte of a number first, `bytes little`, or no such line, the low one."},
	{"E828", "Slots that aren't 1, 2, 3",
		"The slots of a bundle are the places of a switch: they are numbered 1, 2, 3 and so on in the order in which they are written, and there are at least two."},
	{"E829", "A slot without a tune",
		"What stands behind the `=` of a slot is the name of one tune, as `fettle list` shows it, and there is none of that name, or an `except` leaves it out."},
	{"E830", "Something stands twice in a bundle",
		"A bundle names each given in which its slots may differ once, and says once how far a map may jump. Both places are shown: leave one out."},
	{"E831", "A jump of what isn't written",
		"The bundle is for a target none of whose tables shows the map, so a switch changes nothing of it. Leave the line out, or name the map that a table shows."},
	{"E832", "A tune where the bundles are written",
		"`build` writes the bundles into a folder `bundles` of its output, so no variant may have that name beside them."},
	{"E833", "A range of what has none",
		"`for` takes quantities among the givens, each with its range. A row of a catalogue and a yes/no have no range: the limit is proved for each tune's own."},
	{"E834", "A range to prove over that isn't whole",
		"A limit is proved for the conditions that stand behind `for`, each with both its ends, so that a reader sees how far the proof goes. It has no feather: it ends where it ends."},
	{"E835", "A given stands twice in a `for`",
		"A limit is proved over one range of each given. Both places are shown: leave one out, or write two limits."},
	{"E836", "A proof of what is capped",
		"`else clamp` makes the limit hold by moving the cells, so there is nothing to prove of it. To know how far the conditions may go before cells are capped, write a limit of its own over the same bound, with `for` and without `clamp`, on what the map is made from."},
}

// warningCodes: what has no effect, or likely another one than meant.
var warningCodes = []Info{
	{"W001", "Something that nothing uses",
		"It may be a leftover, or a rule that should use it has another name in its place."},
	{"W002", "A rule that never applies",
		"Its `when` holds in none of the declared variants. Add a variant in which it does, or the rule stays untried."},
	{"W003", "Two tunes that are the same",
		"Their conditions and trims are alike, so their tables are. One of them may lack a setting."},
	{"W004", "An `=` that throws earlier work away",
		"A later adjustment sets the map where an earlier rule had changed it, so the earlier one has no effect there. Adjustments act in the order written: put the `=` first, or scale with `*=`."},
	{"W005", "A range that touches no breakpoint",
		"Adjustments act at the map's own breakpoints, and none lies in this range or its feather. Widen the range, or give the map a breakpoint there."},
	{"W006", "A rule that adjusts nothing",
		"Its block is empty."},
	{"W007", "A check that expects nothing",
		"Its block is empty. A line of it reads `fuel(100 %, 9000 rpm) == 15.1 mg +- 1 %`."},
	{"W008", "Something is used twice",
		"One `use` is enough."},
	{"W009", "An adjustment that changes nothing",
		"It applies in some variant, and no cell moves: the amount is nothing, or the factor one, or a `where` holds in no cell."},
	{"W010", "A number below one beside a per cent",
		"A number without a unit takes the unit opposite it, so beside a `%` 0.85 is 0.85 %, less than a hundredth. Write the unit, and it is plain which is meant."},
	{"W011", "A per cent kept in a map without a unit",
		"A map without a unit holds plain numbers, so 85 % is 0.85 in it, and a limit of 85 on it guards nothing. Write `[%]` after the map's name."},
	{"W012", "A factor that was likely meant as a share",
		"`*= 2 %` scales by 0.02, which leaves a fiftieth. To add two parts in a hundred write `+= 2 %`."},
	{"W013", "A source that no file uses",
		"A .fettle file lies in the workspace, and neither tune.fettle nor a file that it uses names it, so its rules and limits count for nothing. Write a `use` for it, or move it away."},
	{"W014", "A look-up outside the axis",
		"A fixed place is beyond the range of its axis. The look-up takes the value at the edge; likelier the arguments are swapped or the unit is wrong."},
	{"W015", "A limit that looks at no cell",
		"Its `where` holds in no cell of any tune, so it guards nothing. Compare the bounds of the `where` with the maps' breakpoints."},
	{"W016", "A review that allows nothing",
		"Its block is empty. A line of it reads `allow fuel = 2 %`."},
	{"W017", "A target that compensates what no rule corrects for",
		"No rule names the given behind `corrects`, so nothing is left out for the controller, and it may correct a second time what a rule does already. Say in the head of the rule what it corrects for."},
	{"W018", "A target without tables",
		"Its block has no `table`, so nothing is written for it. A line of it reads `table opening = open_time as u16 step 0.004 ms`."},
	{"W019", "Slots that hold the same tune",
		"Two places of the switch select the same tune, so a rider who switches gets nothing by it. Name another one, or leave the slot out."},
	{"W020", "Slots that don't differ in what they may",
		"The bundle lets its slots differ in the given, and it is the same in all of them. Leave it out, so that a change of a tune that makes them differ is seen."},
}
