package follow
import ("testing";"strings";"io")
func BenchmarkZZ(b *testing.B) {
	for _, steps := range []bool{false,true} { for k := range waves { for _, depth := range []float64{1.5,0.5} {
		for _, j := range []struct{n,t string}{{"o3",outlines(3000)},{"f",frames(6000)}} {
		opt := testOptions(wave(b,k), depth-0.0005, depth-0.0005, 0.5)
		name := waves[k].name+"/"+j.n; if steps {name+="/steps"}else{name+="/corner"}
		if depth==1.5 {name+="/1.5"} else {name+="/0.5"}
		b.Run(name+"/plain", func(b *testing.B){b.ReportAllocs(); for b.Loop(){Run(strings.NewReader(j.t),io.Discard,opt)}})
		opt.Inertia, opt.DecimalsMaxMM = heavy(steps), 5
		b.Run(name+"/inertia", func(b *testing.B){b.ReportAllocs();for b.Loop(){Run(strings.NewReader(j.t),io.Discard,opt)}})
	}}}}
}
