"""Where a piece of long work stands, and its end before time."""

from fastapi import APIRouter

from dabchick.workbench.jobs import Job, Jobs
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.jobs import JobOut


def job_out(job: Job) -> JobOut:
    """A job as pages see it."""
    return JobOut(
        job=job.job,
        what=job.what,
        state=job.state,
        text=job.text,
        share=job.share,
        advice=[AdviceOut.of(entry) for entry in job.advice],
    )


def router(jobs: Jobs) -> APIRouter:
    """The routes about jobs of every kind."""
    routes = APIRouter(prefix="/api/jobs", tags=["jobs"])

    @routes.get("/{job}")
    def look(job: str) -> JobOut:
        """How far a piece of work is."""
        return job_out(jobs.get(job))

    @routes.delete("/{job}")
    def cancel(job: str) -> JobOut:
        """End a piece of work at once."""
        return job_out(jobs.cancel(job))

    return routes
