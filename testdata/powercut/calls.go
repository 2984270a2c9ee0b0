//go:build linux && (amd64 || arm64)

package powercut

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"golang.org/x/sys/unix"
)

// begin looks at a call that begins, and says in p.what what it will have done.
func (r *recorder) begin(tid int, p *pending) error {
	if fn := calls[p.nr]; fn != nil {
		return fn(r, tid, p)
	}
	if at, ok := onFile[p.nr]; ok && r.open[int(int32(p.args[at]))] != nil {
		return fmt.Errorf("call %d on %s is not understood", p.nr, r.open[int(int32(p.args[at]))].path)
	}
	return nil
}

// calls are those that are understood.
var calls = map[uint64]func(*recorder, int, *pending) error{
	unix.SYS_OPENAT:    (*recorder).openat,
	unix.SYS_CLOSE:     (*recorder).close,
	unix.SYS_WRITE:     (*recorder).write,
	unix.SYS_PWRITE64:  (*recorder).pwrite,
	unix.SYS_FTRUNCATE: (*recorder).ftruncate,
	unix.SYS_FSYNC:     (*recorder).fsync,
	unix.SYS_FDATASYNC: (*recorder).fsync,
	unix.SYS_MKDIRAT:   (*recorder).mkdirat,
	unix.SYS_UNLINKAT:  (*recorder).unlinkat,
	unix.SYS_RENAMEAT:  (*recorder).renameat,
	unix.SYS_RENAMEAT2: (*recorder).renameat,
	unix.SYS_MMAP: func(r *recorder, _ int, p *pending) error {
		if h := r.open[int(int32(p.args[4]))]; h != nil && p.args[2]&unix.PROT_WRITE != 0 && p.args[3]&unix.MAP_SHARED != 0 {
			return fmt.Errorf("%s is written through memory, which is not understood", h.path)
		}
		return nil
	},
}

// onFile are calls that change a file or make a second handle of it, by the
// argument that is the file. On a watched one they are not understood.
var onFile = map[uint64]int{
	unix.SYS_WRITEV: 0, unix.SYS_PWRITEV: 0, unix.SYS_PWRITEV2: 0, unix.SYS_FALLOCATE: 0, unix.SYS_SENDFILE: 0, unix.SYS_SPLICE: 2,
	unix.SYS_COPY_FILE_RANGE: 2, unix.SYS_DUP: 0, unix.SYS_DUP3: 0, unix.SYS_SYNC_FILE_RANGE: 0, unix.SYS_LINKAT: 0, unix.SYS_SYMLINKAT: 1,
}

// place gives the path that a call names, "" if it lies elsewhere.
func (r *recorder) place(dirfd, name uint64) (string, error) {
	s, err := r.text(name)
	if err != nil {
		return "", err
	}
	if !filepath.IsAbs(s) {
		h := r.open[int(int32(dirfd))]
		if h == nil {
			return "", nil
		}
		s = filepath.Join(h.path, s)
	}
	s = filepath.Clean(s)
	if s != r.dir && !strings.HasPrefix(s, r.dir+"/") {
		return "", nil
	}
	return s, nil
}

// fresh gives the node of a path whose name is made by this call.
func (r *recorder) fresh(path string) int {
	r.last++
	r.nodes[path] = r.last
	return r.last
}

func (r *recorder) parent(path string) (int, string) {
	return r.nodes[filepath.Dir(path)], filepath.Base(path)
}

func (r *recorder) openat(_ int, p *pending) error {
	path, err := r.place(p.args[0], p.args[1])
	if path == "" || err != nil {
		return err
	}
	flags := p.args[2]
	p.what = func(ret int64) error {
		if ret < 0 {
			return nil
		}
		node, known := r.nodes[path]
		if !known {
			if flags&unix.O_CREAT == 0 {
				return fmt.Errorf("%s was opened, and nobody made it", path)
			}
			c := p.call
			c.Kind, c.Node = Make, r.fresh(path)
			c.Dir, c.Name = r.parent(path)
			node = c.Node
			r.keep(c)
		}
		if flags&unix.O_TRUNC != 0 && known {
			c := p.call
			c.Kind, c.Node = Length, node
			r.keep(c)
		}
		r.open[int(ret)] = &handle{node, path, flags&unix.O_DSYNC != 0}
		return nil
	}
	return nil
}

// close forgets the handle when the call begins: once it is done the number may
// be another's.
func (r *recorder) close(_ int, p *pending) error {
	delete(r.open, int(int32(p.args[0])))
	return nil
}

// write is at the place where the file stands, which the kernel tells afterwards.
func (r *recorder) write(tid int, p *pending) error {
	if fd := int(int32(p.args[0])); fd == 1 {
		return r.say(p)
	}
	h, err := r.data(p)
	if h == nil || err != nil {
		return err
	}
	fd := p.args[0]
	p.what = func(ret int64) error {
		b, err := os.ReadFile(fmt.Sprintf("/proc/%d/fdinfo/%d", r.pid, fd))
		if err != nil {
			return err
		}
		var pos int64
		if _, err := fmt.Sscanf(string(b), "pos: %d", &pos); err != nil {
			return err
		}
		p.call.At = pos - ret
		return r.written(p, h, ret)
	}
	return nil
}

func (r *recorder) pwrite(_ int, p *pending) error {
	h, err := r.data(p)
	if h == nil || err != nil {
		return err
	}
	p.call.At = int64(p.args[3])
	p.what = func(ret int64) error { return r.written(p, h, ret) }
	return nil
}

// data takes what is to be written to a watched file; nil if it is none.
func (r *recorder) data(p *pending) (h *handle, err error) {
	if h = r.open[int(int32(p.args[0]))]; h != nil {
		p.call.Kind, p.call.Node = Write, h.node
		p.call.Data, err = r.memory(p.args[1], int(p.args[2]))
	}
	return h, err
}

func (r *recorder) written(p *pending, h *handle, ret int64) error {
	if ret < 0 {
		return nil
	}
	c := p.call
	c.Data = c.Data[:ret]
	r.keep(c)
	if h.sync { // a sync that begins when the write is done
		r.keep(Call{Kind: Sync, Node: h.node, Begun: r.now, Done: r.now + 1})
		r.now += 2
	}
	return nil
}

// say is a promise from the moment at which the line begins to be written.
func (r *recorder) say(p *pending) (err error) {
	p.call.Kind = Say
	p.call.Data, err = r.memory(p.args[1], int(p.args[2]))
	p.what = func(ret int64) error { r.keep(p.call); return nil }
	return err
}

func (r *recorder) ftruncate(_ int, p *pending) error {
	if h := r.open[int(int32(p.args[0]))]; h != nil {
		p.call.Kind, p.call.Node, p.call.At = Length, h.node, int64(p.args[1])
		p.what = r.ifDone(p)
	}
	return nil
}

func (r *recorder) fsync(_ int, p *pending) error {
	if h := r.open[int(int32(p.args[0]))]; h != nil {
		p.call.Kind, p.call.Node = Sync, h.node
		p.what = r.ifDone(p)
	}
	return nil
}

// ifDone keeps the call unless it failed.
func (r *recorder) ifDone(p *pending) func(int64) error {
	return func(ret int64) error {
		if ret >= 0 {
			r.keep(p.call)
		}
		return nil
	}
}

func (r *recorder) mkdirat(_ int, p *pending) error {
	path, err := r.place(p.args[0], p.args[1])
	if path == "" || err != nil {
		return err
	}
	p.what = func(ret int64) error {
		if ret < 0 {
			return nil
		}
		p.call.Kind, p.call.Node = MakeDir, r.fresh(path)
		p.call.Dir, p.call.Name = r.parent(path)
		r.tape.Dirs[p.call.Node] = true
		r.keep(p.call)
		return nil
	}
	return nil
}

func (r *recorder) unlinkat(_ int, p *pending) error {
	path, err := r.place(p.args[0], p.args[1])
	if path == "" || err != nil {
		return err
	}
	p.what = func(ret int64) error {
		if ret < 0 {
			return nil
		}
		p.call.Kind, p.call.Node = Remove, r.nodes[path]
		p.call.Dir, p.call.Name = r.parent(path)
		delete(r.nodes, path)
		r.keep(p.call)
		return nil
	}
	return nil
}

func (r *recorder) renameat(_ int, p *pending) error {
	from, err := r.place(p.args[0], p.args[1])
	if err != nil {
		return err
	}
	to, err := r.place(p.args[2], p.args[3])
	if err != nil || from == "" && to == "" {
		return err
	}
	if from == "" || to == "" {
		return fmt.Errorf("%q was renamed to %q, across the border of what is watched", from, to)
	}
	p.what = func(ret int64) error {
		if ret < 0 {
			return nil
		}
		p.call.Kind, p.call.Node = Rename, r.nodes[from]
		p.call.OldDir, p.call.OldName = r.parent(from)
		p.call.Dir, p.call.Name = r.parent(to)
		for path, node := range r.nodes { // what lies below moves along
			if rest, below := strings.CutPrefix(path, from+"/"); below {
				delete(r.nodes, path)
				r.nodes[to+"/"+rest] = node
			}
		}
		delete(r.nodes, from)
		r.nodes[to] = p.call.Node
		r.keep(p.call)
		return nil
	}
	return nil
}
