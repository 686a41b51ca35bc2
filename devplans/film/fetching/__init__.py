"""A film by https address: `addresses` says where the portal may go, `lines` goes there and nowhere
else, `job` keeps what comes."""
