#!/bin/sh
# Makes gnu-units.txt: every unit of the table, and some composed ones, worked out by GNU units in coherent units.
# The revolution is its "circle"; `ohm`, `mol` and the like are its own. Run: sh gnu-units.sh > gnu-units.txt
LC_ALL=C; export LC_ALL
# A function of the scale, not a multiple, converts the two temperatures: their values at 0 and 100 stand for them.
echo "# $(units --version | head -n 1)"
echo "# sh gnu-units.sh > gnu-units.txt; each value is: units --terse --output-format %.17g 'GNU' 'COHERENT'"
echo "# our unit | as GNU units writes it | in coherent units | value"
while IFS='|' read -r ours gnu coherent; do
	value=$(units --terse --output-format %.17g "$gnu" "$coherent") || { echo "refused: $ours" >&2; exit 1; }
	echo "$ours|$gnu|$coherent|$value"
done <<'LIST'
kg|kg|kg
g|gram|kg
mg|mg|kg
ug|microgram|kg
lb|lb|kg
oz|oz|kg
m|m|m
cm|cm|m
mm|mm|m
um|micrometer|m
km|km|m
in|inch|m
ft|ft|m
mi|mile|m
s|s|s
ms|ms|s
us|microsecond|s
min|min|s
h|hour|s
K|K|K
0 degC|tempC(0)|K
100 degC|tempC(100)|K
0 degF|tempF(0)|K
100 degF|tempF(100)|K
-40 degF|tempF(-40)|K
rev|circle|circle
deg|degree|circle
rad|radian|circle
rpm|circle/min|circle/s
Hz|Hz|1/s
L|liter|m^3
mL|mL|m^3
cc|cc|m^3
gal_us|usgallon|m^3
gal_uk|brgallon|m^3
N|N|kg m/s^2
kN|kN|kg m/s^2
kgf|kgf|kg m/s^2
lbf|lbf|kg m/s^2
Nm|N m|kg m^2/s^2
lbf_ft|lbf ft|kg m^2/s^2
Pa|Pa|kg/m/s^2
hPa|hPa|kg/m/s^2
kPa|kPa|kg/m/s^2
MPa|MPa|kg/m/s^2
mbar|mbar|kg/m/s^2
bar|bar|kg/m/s^2
psi|psi|kg/m/s^2
mmHg|mmHg|kg/m/s^2
inHg|inHg|kg/m/s^2
atm|atm|kg/m/s^2
J|J|kg m^2/s^2
kJ|kJ|kg m^2/s^2
MJ|MJ|kg m^2/s^2
W|W|kg m^2/s^3
kW|kW|kg m^2/s^3
hp|hp|kg m^2/s^3
PS|metrichorsepower|kg m^2/s^3
A|A|A
V|V|kg m^2/s^3/A
mV|mV|kg m^2/s^3/A
ohm|ohm|kg m^2/s^3/A^2
mol|mol|mol
%|percent|1
kg/m^3|kg/m^3|kg/m^3
g/cc|gram/cc|kg/m^3
lb/gal_us|lb/usgallon|kg/m^3
g/min|gram/min|kg/s
lb/h|lb/hour|kg/s
cc/min|cc/min|m^3/s
lb/hp/h|lb/(hp hour)|s^2/m^2
g/(kW h)|gram/(kW hour)|s^2/m^2
J/kg/K|J/(kg K)|m^2/s^2/K
MJ/kg|MJ/kg|m^2/s^2
J/(mol K)|J/(mol K)|kg m^2/s^2/mol/K
g/mol|gram/mol|kg/mol
km/h|km/hour|m/s
mi/h|mile/hour|m/s
ft/s|ft/s|m/s
deg/ms|degree/ms|circle/s
rad/s|radian/s|circle/s
mg/rev|mg/circle|kg/circle
1/min|1/min|1/s
kPa/s|kPa/s|kg/m/s^3
LIST
