//go:build netbsd || openbsd

package natslog

import "errors"

// diskFree is not asked here: the two systems name the call differently.
func diskFree(string) (free, total uint64, err error) { return 0, 0, errors.ErrUnsupported }
