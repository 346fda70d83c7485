package emit
import ("testing";"os";"fmt")
func TestZZ(t *testing.T){
 w:=data(t,os.Getenv("EX"))
 s:=w.mustBuild("/tmp/zz-out","*")
 fmt.Println(s)
 for _,in:=range w.inputs(1,"*"){ for _,r:=range Reasons(in){fmt.Println(r)}; for _,r:=range Warnings(in){fmt.Println("   warn:",in.Tune.Name,r)}}
}
