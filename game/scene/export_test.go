package scene

// Settle waits until no work is left in the background, and everything it had
// to say is done.
func (st *Stage) Settle() {
	for {
		st.jobs.running.Wait()
		st.jobs.mu.Lock()
		done := len(st.jobs.inbox) == 0
		st.jobs.mu.Unlock()
		if done {
			return
		}
		st.Tick(st.world.Clock())
	}
}

// Deliver does what has been reported so far.
func (st *Stage) Deliver() { st.Tick(st.world.Clock()) }
