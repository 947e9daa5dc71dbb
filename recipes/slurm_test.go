//go:build unix

package recipes

import (
	"crypto/rand"
	"fmt"
	"net"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// slurm starts Slurm on this computer, of one node, with a key of its own, and gives the
// environment that its commands want.
func slurm(t *testing.T) (env []string) {
	t.Helper()
	path := os.Getenv("PATH") + ":/usr/sbin:/sbin"
	t.Setenv("PATH", path)
	for _, name := range []string{"munged", "slurmctld", "slurmd", "sbatch", "scancel", "squeue"} {
		if _, err := exec.LookPath(name); err != nil {
			t.Skip("there is no Slurm here, which the recipe starts: ", name, " is missing")
		}
	}
	dir, err := os.MkdirTemp("", "slurm-") // a socket's name has its bounds
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	at := func(name string) string { return filepath.Join(dir, name) }
	for _, name := range []string{dir, at("state"), at("spool")} {
		_ = os.Mkdir(name, 0o755)
		if err := os.Chmod(name, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	key := make([]byte, 1024)
	_, _ = rand.Read(key)
	if err := os.WriteFile(at("munge.key"), key, 0o400); err != nil {
		t.Fatal(err)
	}
	host, err := os.Hostname()
	if err != nil {
		t.Fatal(err)
	}
	host, _, _ = strings.Cut(host, ".")
	me, err := user.Current()
	if err != nil {
		t.Fatal(err)
	}
	var ports [2]int
	for k := range ports {
		l, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			t.Fatal(err)
		}
		ports[k] = l.Addr().(*net.TCPAddr).Port
		_ = l.Close() // the system gives out another the next time
	}
	conf := strings.NewReplacer("HOST", host, "USER", me.Username, "DIR", dir, "PORT1", fmt.Sprint(ports[0]), "PORT2", fmt.Sprint(ports[1])).Replace(`ClusterName=one
SlurmctldHost=HOST(127.0.0.1)
SlurmctldPort=PORT1
SlurmdPort=PORT2
AuthType=auth/munge
AuthInfo=socket=DIR/munge.socket
SlurmUser=USER
SlurmdUser=USER
StateSaveLocation=DIR/state
SlurmdSpoolDir=DIR/spool
SlurmctldPidFile=DIR/slurmctld.pid
SlurmdPidFile=DIR/slurmd.pid
ProctrackType=proctrack/pgid
TaskPlugin=task/none
MpiDefault=none
JobAcctGatherType=jobacct_gather/none
AccountingStorageType=accounting_storage/none
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
SchedulerType=sched/builtin
SchedulerParameters=batch_sched_delay=0,sched_interval=1
ReturnToService=2
NodeName=HOST NodeAddr=127.0.0.1 CPUs=2 State=UNKNOWN
PartitionName=all Nodes=HOST Default=YES MaxTime=INFINITE State=UP
`)
	if err := os.WriteFile(at("slurm.conf"), []byte(conf), 0o644); err != nil {
		t.Fatal(err)
	}
	env = append(os.Environ(), "SLURM_CONF="+at("slurm.conf"))
	start := func(name string, args ...string) {
		said, err := os.Create(at(name + ".said"))
		if err != nil {
			t.Fatal(err)
		}
		defer said.Close()
		c := exec.Command(name, args...)
		c.Env, c.Stdout, c.Stderr = env, said, said
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() {
			_ = c.Process.Signal(os.Interrupt)
			ended := time.AfterFunc(5*time.Second, func() { _ = c.Process.Kill() })
			_ = c.Wait()
			ended.Stop()
		})
	}
	start("munged", "--foreground", "--force", "--key-file="+at("munge.key"), "--socket="+at("munge.socket"), "--pid-file="+at("munged.pid"), "--log-file="+at("munged.log"), "--seed-file="+at("munged.seed"))
	for begun := time.Now(); ; time.Sleep(50 * time.Millisecond) {
		if _, err := os.Stat(at("munge.socket")); err == nil {
			break
		}
		if time.Since(begun) > 20*time.Second {
			said, _ := os.ReadFile(at("munged.said"))
			t.Skipf("munged does not start here: %s", said)
		}
	}
	start("slurmctld", "-D", "-c")
	start("slurmd", "-D", "-N", host)
	for begun := time.Now(); ; time.Sleep(200 * time.Millisecond) {
		c := exec.Command("sinfo", "--noheader", "--format=%t")
		c.Env = env
		if out, _ := c.Output(); strings.HasPrefix(string(out), "idle") {
			return env
		}
		if time.Since(begun) > time.Minute {
			control, _ := os.ReadFile(at("slurmctld.said"))
			node, _ := os.ReadFile(at("slurmd.said"))
			t.Skipf("Slurm does not start here: %s%s", control, node)
		}
	}
}

// TestSlurmGoesOn has Slurm prepare jobs as an array, kills one of its tasks in the midst, and
// submits it again: every job is done, as the tool does it by itself, what was done stays as
// it was, and nothing else is left.
func TestSlurmGoesOn(t *testing.T) {
	if _, err := exec.LookPath("sbatch"); err != nil {
		t.Skip("there is no Slurm here, which the recipe starts")
	}
	built := tool(t)
	env := append(slurm(t), "PATH="+built+string(os.PathListSeparator)+os.Getenv("PATH"))
	want := alone(t, built)
	script, err := filepath.Abs("slurm.sh")
	if err != nil {
		t.Fatal(err)
	}
	dir := jobFolder(t)
	command := func(name string, args ...string) *exec.Cmd {
		c := exec.Command(name, args...)
		c.Dir, c.Env = dir, env
		return c
	}
	first := command(script, ".", "4", "2")
	if err := first.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = first.Process.Kill() })
	for begun := time.Now(); ; time.Sleep(10 * time.Millisecond) {
		if made, _ := results(t, dir); len(made) >= 4 {
			break
		}
		if time.Since(begun) > time.Minute {
			t.Fatal("nothing is done")
		}
	}
	running, err := command("squeue", "--noheader", "--states=running", "--format=%i", "--array").Output()
	if err != nil || len(strings.Fields(string(running))) == 0 {
		t.Fatalf("no task runs: %v %s", err, running)
	}
	task := strings.Fields(string(running))[0]
	if out, err := command("scancel", "--full", "--signal=KILL", task).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	if err := first.Wait(); err == nil {
		t.Fatal("the array did not fail whose task was killed")
	}
	_, before := results(t, dir)
	if len(before) == jobCount() {
		t.Fatal("all jobs were done in spite of the kill")
	}
	if out, err := command(script, ".", "4", "2").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	logs, err := filepath.Glob(filepath.Join(dir, "jobs-*.jsonl"))
	if err != nil || len(logs) != 4 {
		t.Fatal(err, logs)
	}
	allOnce(t, dir, want, before, logs...)
	if t.Failed() {
		said, _ := filepath.Glob(filepath.Join(dir, "messages-*.txt"))
		for _, name := range said {
			text, _ := os.ReadFile(name)
			t.Logf("%s:\n%s", filepath.Base(name), text[max(0, len(text)-2000):])
		}
	}
}
