package door

import "context"

type whoKey struct{}

func withWho(ctx context.Context, w Who) context.Context { return context.WithValue(ctx, whoKey{}, w) }

// WhoOf gives who asks, inside a route. Without a guard it is the house.
func WhoOf(ctx context.Context) Who {
	if w, ok := ctx.Value(whoKey{}).(Who); ok {
		return w
	}
	return Who{House: true}
}
