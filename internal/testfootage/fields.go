package testfootage

import (
	"context"
	"errors"
)

func (s Spec) encodeFields(ctx context.Context, path string) error {
	return errors.New("not yet")
}
