//go:build linux && (amd64 || arm64)

package powercut

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"runtime"
	"syscall"
	"unsafe"

	"golang.org/x/sys/unix"
)

// Record runs a program until it ends and records what it does below dir, which
// must exist and be empty. The program's standard output is recorded and kept
// from view; its errors go to ours. Error: it did not end with code 0, ptrace is
// not allowed here (errors.Is ErrNotAllowed), or it made a call that is not
// understood.
func Record(dir string, argv, env []string) (*Tape, error) {
	runtime.LockOSThread() // ptrace obeys the thread that began it
	defer runtime.UnlockOSThread()
	null, err := os.OpenFile(os.DevNull, os.O_RDWR, 0)
	if err != nil {
		return nil, err
	}
	defer null.Close()
	pid, err := syscall.ForkExec(argv[0], argv, &syscall.ProcAttr{Env: env, Files: []uintptr{null.Fd(), null.Fd(), 2}, Sys: &syscall.SysProcAttr{Ptrace: true}})
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNotAllowed, err)
	}
	r := &recorder{tape: &Tape{Dirs: map[int]bool{0: true}}, pid: pid, dir: dir, nodes: map[string]int{dir: 0}, open: map[int]*handle{}, under: map[int]*pending{}}
	if err := r.run(); err != nil {
		_ = syscall.Kill(pid, syscall.SIGKILL)
		var ws unix.WaitStatus
		_, _ = unix.Wait4(pid, &ws, unix.WALL, nil)
		return nil, err
	}
	r.tape.Moments = r.now
	return r.tape, nil
}

// recorder follows all threads of one process.
type recorder struct {
	tape  *Tape
	pid   int
	dir   string
	now   int             // moments so far
	nodes map[string]int  // by path, as the names stand now
	last  int             // highest node
	open  map[int]*handle // by file descriptor
	under map[int]*pending
}

// handle is an open file or directory below dir.
type handle struct {
	node int
	path string
	sync bool // O_SYNC or O_DSYNC
}

// pending is a call that a thread has begun.
type pending struct {
	nr   uint64
	args [6]uint64
	call Call
	what func(ret int64) error // what it comes to when it is done; nil: nothing of ours
}

const (
	noThread   = 0x20000000 // __WNOTHREAD: only children of this thread
	syscallHit = unix.SIGTRAP | 0x80
	getInfo    = 0x420e // PTRACE_GET_SYSCALL_INFO
	infoEntry  = 1
	infoExit   = 2
	options    = unix.PTRACE_O_TRACECLONE | unix.PTRACE_O_TRACEFORK | unix.PTRACE_O_TRACEVFORK | unix.PTRACE_O_TRACESYSGOOD | 0x100000 // EXITKILL
)

// run waits for stops and lets the threads go on, until the process has ended.
func (r *recorder) run() error {
	var ws unix.WaitStatus
	if _, err := unix.Wait4(r.pid, &ws, unix.WALL, nil); err != nil || !ws.Stopped() {
		return fmt.Errorf("%w: the program did not stop at its beginning (%v)", ErrNotAllowed, err)
	}
	if err := unix.PtraceSetOptions(r.pid, options); err != nil {
		return fmt.Errorf("%w: %w", ErrNotAllowed, err)
	}
	if err := unix.PtraceSyscall(r.pid, 0); err != nil {
		return err
	}
	for {
		tid, err := unix.Wait4(-1, &ws, unix.WALL|noThread, nil)
		if errors.Is(err, unix.EINTR) {
			continue
		}
		if err != nil {
			return err
		}
		switch {
		case ws.Exited() || ws.Signaled():
			if tid != r.pid {
				continue
			}
			if ws.ExitStatus() != 0 {
				return fmt.Errorf("the program ended with %d (signal %d)", ws.ExitStatus(), ws.Signal())
			}
			return nil
		case ws.Stopped():
			signal, err := r.stopped(tid, ws)
			if err != nil {
				return err
			}
			if err := unix.PtraceSyscall(tid, signal); err != nil && !errors.Is(err, unix.ESRCH) {
				return err
			}
		}
	}
}

// stopped looks at why a thread has stopped, and gives the signal to pass on.
func (r *recorder) stopped(tid int, ws unix.WaitStatus) (signal int, err error) {
	switch sig := ws.StopSignal(); {
	case sig == syscallHit:
		return 0, r.syscall(tid)
	case sig == unix.SIGTRAP, sig == unix.SIGSTOP: // a thread was born
		return 0, nil
	default:
		return int(sig), nil
	}
}

// info is what the kernel tells about a call: linux/ptrace.h, ptrace_syscall_info.
type info struct {
	op   uint8
	_    [3]uint8
	_    uint32
	_    [2]uint64
	rest [8]uint64 // entry: number, six arguments; exit: result, whether it is an error
}

func (r *recorder) syscall(tid int) error {
	var i info
	if _, _, e := unix.Syscall6(unix.SYS_PTRACE, getInfo, uintptr(tid), unsafe.Sizeof(i), uintptr(unsafe.Pointer(&i)), 0, 0); e != 0 {
		if e == unix.ESRCH {
			return nil
		}
		return fmt.Errorf("%w: ask for a call: %w", ErrNotAllowed, e)
	}
	switch i.op {
	case infoEntry:
		p := &pending{nr: i.rest[0], args: [6]uint64(i.rest[1:7])}
		if err := r.begin(tid, p); err != nil {
			return err
		}
		if p.what != nil {
			p.call.Begun = r.now
			r.now++
			r.under[tid] = p
		}
	case infoExit:
		if p := r.under[tid]; p != nil {
			delete(r.under, tid)
			p.call.Done = r.now
			r.now++
			return p.what(int64(i.rest[0]))
		}
	}
	return nil
}

// keep notes a call that was done.
func (r *recorder) keep(c Call) { r.tape.Calls = append(r.tape.Calls, c) }

// memory reads from the program.
func (r *recorder) memory(at uint64, n int) ([]byte, error) {
	b := make([]byte, n)
	if n == 0 {
		return b, nil
	}
	local := []unix.Iovec{{Base: &b[0]}}
	local[0].SetLen(n)
	got, err := unix.ProcessVMReadv(r.pid, local, []unix.RemoteIovec{{Base: uintptr(at), Len: n}}, 0)
	if err != nil || got != n {
		return nil, fmt.Errorf("read %d bytes of the program: %d, %w", n, got, err)
	}
	return b, nil
}

// text reads a string that ends with a zero, from a page that may end with memory.
func (r *recorder) text(at uint64) (string, error) {
	var out []byte
	for len(out) < unix.PathMax {
		n := 64 - int(at%64)
		b, err := r.memory(at, n)
		if err != nil {
			return "", err
		}
		if end := bytes.IndexByte(b, 0); end >= 0 {
			return string(append(out, b[:end]...)), nil
		}
		out, at = append(out, b...), at+uint64(n)
	}
	return "", errors.New("a name without an end")
}
