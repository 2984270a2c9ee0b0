package door

import "context"

type whoKey struct{}

func withWho(ctx context.Context, w Who) context.Context { return WithWho(ctx, w) }

// WithWho is for what is drawn once for several who may see the same.
func WithWho(ctx context.Context, w Who) context.Context { return context.WithValue(ctx, whoKey{}, w) }

// WhoOf gives who asks, inside a route. Without a guard it is the house.
func WhoOf(ctx context.Context) Who {
	if w, ok := ctx.Value(whoKey{}).(Who); ok {
		return w
	}
	return Who{House: true}
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
