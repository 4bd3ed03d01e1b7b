//! Jobs in order: taken one after the other, worked on by several threads, handed back in the same
//! order, with only a few under way at a time.

use super::error::FileError;

/// Where jobs come from and results go, all on the calling thread.
pub(crate) trait Feed {
    /// What there is to do.
    type Job: Send;
    /// What comes of it.
    type Done: Send;

    /// The next job.
    fn next(&mut self) -> Result<Option<Self::Job>, FileError>;
    /// Takes the result of the job that is next in order.
    fn take(&mut self, done: Self::Done) -> Result<(), FileError>;
    /// Called again and again while results are waited for.
    fn idle(&mut self) -> Result<(), FileError>;
}

/// The threads of a run; none of its own where everything happens on the calling thread.
#[derive(Debug)]
pub(crate) struct Pool {
    #[cfg(feature = "parallel")]
    threads: Option<rayon::ThreadPool>,
}

impl Pool {
    /// So many threads; 0 for one on each core, 1 for the calling thread alone.
    #[cfg(feature = "parallel")]
    pub(crate) fn new(threads: usize) -> Self {
        let many = threads != 1;
        let build = || rayon::ThreadPoolBuilder::new().num_threads(threads).build().ok();
        Self { threads: many.then(build).flatten() }
    }

    /// So many threads, were they built in.
    #[cfg(not(feature = "parallel"))]
    pub(crate) fn new(_: usize) -> Self {
        Self {}
    }

    /// Whether anything is done beside the calling thread.
    #[cfg(feature = "parquet")]
    #[cfg_attr(
        not(feature = "parallel"),
        expect(clippy::unused_self, reason = "there are no threads to hold")
    )]
    pub(crate) fn has_threads(&self) -> bool {
        #[cfg(feature = "parallel")]
        return self.threads.is_some();
        #[cfg(not(feature = "parallel"))]
        false
    }

    /// Runs all jobs; `state` makes what a thread keeps from one job to the next.
    #[cfg_attr(
        not(feature = "parallel"),
        expect(clippy::unused_self, reason = "there are no threads to hold")
    )]
    pub(crate) fn run<F: Feed, S: Send>(
        &self,
        feed: &mut F,
        state: impl Fn() -> S + Sync,
        work: impl Fn(&mut S, F::Job) -> F::Done + Sync,
    ) -> Result<(), FileError> {
        #[cfg(feature = "parallel")]
        if let Some(pool) = &self.threads {
            return parallel::run(feed, pool, state, work);
        }
        let mut state = state();
        while let Some(job) = feed.next()? {
            let done = work(&mut state, job);
            feed.take(done)?;
            feed.idle()?;
        }
        Ok(())
    }

    /// Does the same to each of a list; the results are in the order of the list.
    #[cfg(feature = "parquet")]
    #[cfg_attr(
        not(feature = "parallel"),
        expect(clippy::unused_self, reason = "there are no threads to hold")
    )]
    pub(crate) fn map<T: Send, O: Send>(
        &self,
        list: Vec<T>,
        work: impl Fn(T) -> O + Sync + Send,
    ) -> Vec<O> {
        #[cfg(feature = "parallel")]
        if let Some(pool) = &self.threads {
            use rayon::prelude::*;
            return pool.install(|| list.into_par_iter().with_max_len(1).map(work).collect());
        }
        list.into_iter().map(work).collect()
    }
}

#[cfg(feature = "parallel")]
mod parallel {
    use super::super::progress::BEAT;
    use super::{Feed, FileError};
    use rayon::{Scope, ThreadPool};
    use std::collections::VecDeque;
    use std::path::Path;
    use std::sync::mpsc::{Receiver, RecvTimeoutError, sync_channel};
    use std::sync::{Mutex, PoisonError};

    pub(super) fn run<F: Feed, S: Send>(
        feed: &mut F,
        pool: &ThreadPool,
        state: impl Fn() -> S + Sync,
        work: impl Fn(&mut S, F::Job) -> F::Done + Sync,
    ) -> Result<(), FileError> {
        let most = 2 * pool.current_num_threads() + 1;
        let idle: Mutex<Vec<S>> = Mutex::new(Vec::new());
        let perform = |job: F::Job| {
            let kept = idle.lock().unwrap_or_else(PoisonError::into_inner).pop();
            let mut state = kept.unwrap_or_else(&state);
            let done = work(&mut state, job);
            idle.lock().unwrap_or_else(PoisonError::into_inner).push(state);
            done
        };
        let perform = &perform;
        pool.in_place_scope(|scope| {
            let mut waiting = VecDeque::new();
            loop {
                while waiting.len() < most
                    && let Some(job) = feed.next()?
                {
                    waiting.push_back(start(scope, perform, job));
                }
                match waiting.pop_front() {
                    Some(result) => {
                        let done = wait(feed, &result)?;
                        feed.take(done)?;
                        feed.idle()?;
                    }
                    None => return Ok(()),
                }
            }
        })
    }

    fn start<'s, J: Send + 's, D: Send + 's>(
        scope: &Scope<'s>,
        perform: &'s (impl Fn(J) -> D + Sync),
        job: J,
    ) -> Receiver<D> {
        let (sender, receiver) = sync_channel(1);
        // Nobody listens any more once the run has failed.
        scope.spawn(move |_| drop(sender.send(perform(job))));
        receiver
    }

    fn wait<F: Feed>(feed: &mut F, result: &Receiver<F::Done>) -> Result<F::Done, FileError> {
        loop {
            match result.recv_timeout(BEAT) {
                Ok(done) => return Ok(done),
                Err(RecvTimeoutError::Timeout) => feed.idle()?,
                Err(RecvTimeoutError::Disconnected) => {
                    return Err(FileError::unusable(Path::new("-"), "a thread ended too early"));
                }
            }
        }
    }
}
