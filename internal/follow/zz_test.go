package follow
import ("testing";"os";"io";"time";"runtime";"sagitta/internal/surface")
func TestZZ(t *testing.T){
 runtime.GOMAXPROCS(1)
 sf,_:=os.Open("/tmp/sp/sheet.csv"); ss,err:=surface.Read(sf,"s"); if err!=nil{t.Fatal(err)}; p,_:=surface.Place(ss,surface.Placement{})
 opt := testOptions(p, 1.4995, 1.4995, 0.5)
 best := time.Hour
 for i:=0;i<6;i++{ f,_:=os.Open(os.Getenv("ZZ")); t0:=time.Now(); if _,err:=Run(f, io.Discard, opt); err!=nil{t.Fatal(err)}; if d:=time.Since(t0); d<best {best=d}; f.Close() }
 t.Log(best)
}
