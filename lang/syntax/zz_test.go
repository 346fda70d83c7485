package syntax
import ("testing";"strings";"time";"fettle/lang/diag";"fettle/lang/source";"runtime";"os")
func TestZZ(t *testing.T){
	for _, deep := range []string{";","\\","let a = 1; ","(","(\n",")", "'", "'a", "\"\n", "rule a {\n", " rule a {\n", "rule a {", "“", "é ", "…", "[", "[a\n", "[a ", "# a\n", "\n ", "{ ", "{\n", "let a = 1 +\n", "a=(\n", "a,\n","a.", "1.1.", "1'0", "catalog\n\n", "map a\n\n", "\x01", "\xff", "use a,", "if ","a b ","0x1"} {
		for _, pre := range []string{"", "rule z {\n", "let a = "} {
		s := time.Now()
		text := pre+strings.Repeat(deep,60_000/len(deep))
		errs := &diag.List{}
		Parse(source.New("x",text), errs)
		a := time.Since(s)
		errs.Sorted()
		b := time.Since(s)
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		if b > 60*time.Millisecond { t.Logf("%q %q %v %v errs %d", pre, deep,a,b, errs.Len()) }
		}
	}
	_ = os.Args
}
