// Package powercut records what a process does to the files of a directory, and
// makes of the record what a disk may hold after the power failed at any moment.
//
// # The model
//
// A write that was done after its file's last fsync may be lost or kept, in any
// subset, page by page (4 KiB): a later page may be there and an earlier one
// read as zeroes or as what stood there before. The same holds for a change of a
// file's length. What was done before an fsync began, on that file, is there.
// A file opened with O_SYNC is synced by each write to it.
//
// A name is an entry of a directory. Made, renamed and removed names may each be
// lost or kept, in any subset; a rename takes place whole or not at all. They are
// there for certain once they were done before an fsync began of
//
//   - [ByFileOrDir]: their directory, or the file or directory that they name;
//   - [ByDir]: their directory. This is all that POSIX promises.
//
// A directory that is not there takes everything below it along.
//
// A call that had begun and was not done when the power failed may be lost or
// kept like one that was never synced. Reading is not recorded: after the cut
// the directory is written out anew, and a fresh process opens it.
//
// # The record
//
// [Record] runs a program under ptrace and notes, in one order, every call by any
// of its threads that changes a file below the directory, and every line that the
// program writes to its standard output: what it says there it has promised. A
// call that could change a watched file and is not understood ends the recording
// with an error, so that nothing is left out silently. Linux only; nothing needs
// to be installed.
package powercut
