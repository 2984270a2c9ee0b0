package natslog

import "io"

// Hold takes the lock of a store directory without opening the store, so that
// its files stand still while they are copied. Program is what a refused second
// process reads. Closing lets go. Errors: ErrLocked, naming the holder.
func Hold(dir, program string) (io.Closer, error) { return lockDir(dir, program) }
