package door

import "context"

type whoKey struct{}

// WithWho is for what is drawn once for several who may see the same.
func WithWho(ctx context.Context, w Who) context.Context { return context.WithValue(ctx, whoKey{}, w) }

// WhoOf gives who asks, inside a route; a stranger where no guard has said.
func WhoOf(ctx context.Context) Who {
	w, _ := ctx.Value(whoKey{}).(Who)
	return w
}

type stoppingKey struct{}

// withStopping lets requests know that the hub ends; it does not cut them off.
func withStopping(done <-chan struct{}) context.Context {
	return context.WithValue(context.Background(), stoppingKey{}, done)
}

// Stopping is closed when the hub takes no more requests: a stream ends itself
// then. Outside a hub it is never closed.
func Stopping(ctx context.Context) <-chan struct{} {
	done, _ := ctx.Value(stoppingKey{}).(<-chan struct{})
	return done
}
