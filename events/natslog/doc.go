// Package natslog keeps a floor's log in a JetStream stream: in a NATS server
// inside this process, on one directory and without a port, or on a NATS
// elsewhere, by URL. It is an [events.Log] and passes logtest.Run both ways.
//
// # Durability
//
// The embedded server syncs the block file of each append before it answers
// (SyncAlways; its default would leave up to two minutes of answered frames to
// a power failure). Three things it leaves open are done here:
//
//   - a new block file's directory entry: whenever a new block has appeared,
//     its directory is synced before the append is answered. Blocks are
//     numbered, so this costs one failing lstat an append. See blocks.go;
//   - the directories made when the floor is founded, up to the store's parent;
//   - what a killed process had written but not synced: the last blocks are
//     synced at opening, before anything in them is believed.
//
// A sync that fails is final: nobody knows what the disk holds then. On an
// external NATS durability is what its owner has set (sync_interval: always).
//
// # Fence
//
// Each append carries the sequence it expects to be last, and is answered
// before the next is sent. With several on the way the expectation would be no
// fence: one refused in the middle lets those behind it through. "Wrong last
// sequence" comes with two codes, 10071 and 10164; both are read alike.
//
// # Lost answers
//
// When no answer comes, the frame may be stored, or may still be on its way and
// land later. So the same frame is sent again with the same expectation: of all
// those sends at most one is taken. Refused, the writer reads what stands at
// the place, from where frames are written and not from a replica: its own
// bytes are success, other bytes are [events.ErrFenced]. An end before the
// expected one is [events.ErrCorrupt]: frames that were answered are missing.
// After Config.Patience, or when the caller's context ends, the writer hears
// [events.ErrUnreachable] and may append the same bytes again.
//
// # One process a directory
//
// The server does not lock its store, and two of them lose each other's frames
// without a word. An OS file lock on Dir/lock is taken before the server
// starts; a second process is refused with [events.ErrLocked] and told program,
// pid and host of the first. The lock ends with the process, however it ends.
// File systems that ignore such locks (some network mounts) are no place for a
// log. An external NATS has no lock; there only the fence keeps writers apart.
//
// # What is refused
//
// The stream is bound to floor.<id>.frame alone, on disk, without limits, with
// deletion and purging denied. That does not protect it from whoever may change
// streams, so at each opening its configuration is compared field by field with
// what must be, its first sequence must be 1, and it must hold as many frames
// as it counts. founded.json beside the store tells a floor whose stream is
// missing from a new one. All these are [events.ErrCorrupt], with the
// difference named; so is a frame that can't be read later, in Read, Scan and
// Follow alike: nothing is skipped.
//
// A record with a wrong number would kill the server: it notes every number that
// it passes over, as many as memory holds. So each block's records are walked
// before the server is given it, and a number out of order is ErrCorrupt, with
// block and byte. See walk.go. While the log is open [Log.Check] looks at the
// stream's configuration again.
//
// A stream that a crash has left half founded and that holds no frame is founded
// anew: the server would take it up without ever completing its description, and
// not find it at the next start.
//
// After a crash the server cuts a block off at the first record it does not
// like. One torn frame was answered to nobody; if more than one is gone from
// the last block, the block as it was is kept as cut-off.blk and the log is
// refused until someone has decided. See tail.go.
//
// # What is not noticed here
//
// A last frame that is lost whole, damage in the last frame that was found only
// after a crash, and a store put back to an earlier state look like a shorter
// log. That is for the tree heads in the frames and for the benches, who hold
// later ones. Frames are not interpreted here.
//
// # A full disk
//
// A single server that can't write falls silent: no refusal, no answer, until
// it is started anew. It says so in its own log only, so that is listened to
// (serverlog.go), and the writer hears [ErrFull] at once instead of waiting.
// From then on nothing is appended; make room and open anew. Ask [Log.Free]
// before it comes to that. Config.MaxStore is refused frame by frame instead.
//
// # Readers
//
// History is read by sequence. Scan and Follow each have one consumer, held in
// memory by the server and removed when they return. Frames are asked of it in
// requests bounded by count and by bytes (pull.go), so that a reader that waits
// holds next to nothing and large frames overrun none. It is replaced when it
// breaks off; the next frame handed on is always the one that is due.
// Appends, readers and the rest of the bus have a connection each.
//
// # Benches on the bus
//
// Config.Listen opens the bus on a loopback address for other processes. Then
// there are two users: the hub, this process, with all rights, and the bench,
// which may ask on floor.<id>.do.> and hear answers: no frames, no events, no
// stream's affairs. All benches share that user for now and could hear each
// other's answers. [Log.BenchURL] holds the address and the password.
//
// # Not shown
//
// On a stream with several replicas the fence has not been put to the test of
// two writers at once here. Sudden loss of power is shown by replaying the record
// of a hub's writes, fsyncs and names (testdata/powercut), not on a real disk.
package natslog
