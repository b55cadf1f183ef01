package scene

import (
	"context"
	"sync"
)

// jobs run beside the goroutine of the window and report to it.
type jobs struct {
	life    context.Context
	end     context.CancelFunc
	running sync.WaitGroup
	wake    func()

	mu    sync.Mutex
	inbox []message
}

// message is what a job has to say, and whether anybody still waits for it.
type message struct {
	ctx context.Context
	say func()
}

func newJobs(wake func()) *jobs {
	life, end := context.WithCancel(context.Background())
	return &jobs{life: life, end: end, wake: wake}
}

// start runs job beside the window. What it returns is done on the window's
// goroutine, unless the job was cancelled before that. tell does something
// there in the meantime.
func (j *jobs) start(job func(ctx context.Context, tell func(func())) (done func())) context.CancelFunc {
	ctx, cancel := context.WithCancel(j.life)
	j.running.Go(func() {
		tell := func(say func()) { j.post(message{ctx, say}) }
		tell(job(ctx, tell))
	})
	return cancel
}

func (j *jobs) post(m message) {
	j.mu.Lock()
	j.inbox = append(j.inbox, m)
	j.mu.Unlock()
	j.wake()
}

// deliver does what jobs have reported since the last time, in that order.
func (j *jobs) deliver() {
	j.mu.Lock()
	arrived := j.inbox
	j.inbox = nil
	j.mu.Unlock()
	for _, m := range arrived {
		if m.ctx.Err() == nil && m.say != nil {
			m.say()
		}
	}
}

// close cancels all jobs and waits for them.
func (j *jobs) close() {
	j.end()
	j.running.Wait()
}
