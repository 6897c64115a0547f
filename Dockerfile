# Ledgerwheel in an image of its own. docker-compose.yml runs it beside PostgreSQL.
FROM golang:1.26-bookworm AS build
WORKDIR /src
COPY go.mod go.sum ./
RUN go mod download
COPY . .
RUN CGO_ENABLED=0 go build -trimpath -ldflags=-s -o /out/ledgerwheel ./cmd/ledgerwheel

FROM debian:bookworm-slim
RUN apt-get update \
    && apt-get install -y --no-install-recommends ca-certificates fonts-droid-fallback fonts-nanum \
    && rm -rf /var/lib/apt/lists/* \
    && useradd --system --uid 10001 --user-group --home-dir /data --shell /usr/sbin/nologin ledgerwheel \
    && install -d -o ledgerwheel -g ledgerwheel -m 0700 /data
COPY --from=build /out/ledgerwheel /usr/local/bin/ledgerwheel
# The notices of all that is linked are in the program (ledgerwheel licences), and here as a file. Debian's own lie
# beside it, in /usr/share/doc/*/copyright.
COPY --from=build /src/web/notices/NOTICES.txt /usr/share/doc/ledgerwheel/copyright
# The image holds no PostgreSQL: LEDGERWHEEL_DATABASE must name one. /data keeps the photographs.
ENV LEDGERWHEEL_LISTEN=0.0.0.0:8080 \
    LEDGERWHEEL_DATA=/data \
    LEDGERWHEEL_NO_INSTALL=true
USER ledgerwheel
VOLUME /data
EXPOSE 8080
HEALTHCHECK --interval=10s --timeout=6s --start-period=60s --retries=3 CMD ["ledgerwheel", "health"]
ENTRYPOINT ["ledgerwheel"]
CMD ["serve"]
