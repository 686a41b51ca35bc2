# One image: web, workers, beat and everything in one (the default command) differ by command only.
FROM python:3.12-slim-bookworm

ENV PYTHONUNBUFFERED=1 PYTHONDONTWRITEBYTECODE=1 PIP_NO_CACHE_DIR=1
WORKDIR /srv/portal

COPY pyproject.toml .
RUN python -c 'import tomllib; print(*tomllib.load(open("pyproject.toml", "rb"))["project"]["dependencies"], sep="\n")' > /tmp/runtime.txt \
    && pip install -r /tmp/runtime.txt "aiosmtpd>=1.4.6"

COPY . .
RUN useradd --uid 10001 --create-home portal \
    && mkdir -p /var/lib/portal /var/mail/caught /srv/static \
    && STATIC_ROOT=/srv/static DATA_DIR=/tmp/build python manage.py collectstatic --noinput \
    && chown -R portal /var/lib/portal /var/mail/caught /srv/static

ENV PORTAL_MODE=prod DATA_DIR=/var/lib/portal STATIC_ROOT=/srv/static
USER portal
VOLUME /var/lib/portal
EXPOSE 8000
# A container is stopped with SIGTERM; a clip that is being cut gets time to end.
STOPSIGNAL SIGTERM
CMD ["python", "manage.py", "serve", "--host", "0.0.0.0"]
